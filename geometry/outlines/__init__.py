"""Outlines of lines and arcs: what they enclose, joined and cut, and what is wrong with one."""
