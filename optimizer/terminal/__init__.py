"""The frame around every command: options, files, progress, interrupts, exit codes."""
