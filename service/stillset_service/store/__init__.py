"""The store: SQLite or PostgreSQL behind the same functions.

Every function takes a connection and the club first; nobody else builds a query; nothing here
commits: that is done at the border, by ``Store.write``.
"""
