"""Who is calling, and what the caller may do."""
