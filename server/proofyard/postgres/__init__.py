"""A book that lies in PostgreSQL: the same tables, forms, changes and pages as one in a file of SQLite's.

PROOFYARD_DATABASE=postgresql+psycopg://… chooses it. Nothing here is loaded without that setting.
"""
