"""The operator's own settings: read from text, files or pictures, kept, and compared.

Import its modules by name.
"""
