"""The day of the update: its steps, what became of each, and resuming after an interruption.

Import its modules by name.
"""
