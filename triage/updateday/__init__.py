"""Update day: settings before and after, every unit, nothing forgotten.

Import its modules by name; `remind` is what other commands ask, and costs nothing while there is
no run and no snapshot.
"""
