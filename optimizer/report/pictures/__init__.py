"""Pictures: one kind a file; what they are drawn on, and with."""
