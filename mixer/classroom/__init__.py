"""A whole class: many recipes at once, and listening to what came of them.

Nothing here marks, ranks or compares people.
"""
