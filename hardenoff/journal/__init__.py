"""The journal beside the garden file: what was really done, a line each, only ever added to.

    entries    the records, and what stands after corrections (pure)
    text       their text, line by line and as a whole file (pure)
    file       the file: append under a lock, read what can be read

Importing this package loads nothing.
"""
