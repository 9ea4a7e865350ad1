"""The one place that knows units and how people write them.

`reading.parse` turns what a person typed into an exact canonical value, `writing.show` turns a
canonical value back into what a person reads, `units.Units` says which units are meant when none
are typed, and `kinds` holds the table behind all three.
"""
