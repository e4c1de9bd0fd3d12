"""The operator's decisions, kept for years: an append-only store and what can be learnt from it.

Import its modules by name: most of them load the database libraries.
"""
