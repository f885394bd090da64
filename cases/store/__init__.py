"""The file that the shop's record is kept in: one SQLite file, to which lines are only ever added.

Its tables and the steps that bring an older one up (:mod:`cases.store.schema`), what a line may say
(:mod:`cases.store.kinds`), where it may lie (:mod:`cases.store.place`), how it is opened, read and
added to (:mod:`cases.store.file`). It lies below the subjects: the walls that it keeps are read by
one, what became of engines by another.
"""
