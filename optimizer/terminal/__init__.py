"""The frame around every command: files, progress, interrupts, exit codes."""
