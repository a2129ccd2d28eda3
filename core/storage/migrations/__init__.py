"""Migrations of the tables, run by Alembic on a copy of the notebook.

A new one: change ``core/storage/tables.py``; write ``versions/rev_<number>_<what>.py`` by hand,
as plain as the first one, with its own copies of the columns (the tables of later revisions are
not those of this one); add its number to ``schema.REVISIONS``. The tests of migrations then hold
the two against each other on both engines.
"""
