"""The API: routes, problems, pages of tables and formats."""
