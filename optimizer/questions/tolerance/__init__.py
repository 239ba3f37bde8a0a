"""samespin tolerance: what the shop's spread does to weight, RG and differential.

`inputs` reads what varies, `model` is a ball as a function of it, `good` says when a ball
is good, and `finding` simulates the line and answers to first order.
"""
