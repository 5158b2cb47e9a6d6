"""Judging: what one set says about strength, by rules that cannot see any trend."""
