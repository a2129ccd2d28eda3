"""Migrations of the tables, run by Alembic on a copy of the notebook."""
