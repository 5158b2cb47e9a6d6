"""Taking sets in: one, many, and their corrections."""
