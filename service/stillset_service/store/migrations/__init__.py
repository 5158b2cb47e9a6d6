"""The steps by which the tables came about, run by themselves at start."""
