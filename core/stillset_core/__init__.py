"""The pure core of stillset: judging, readings, trend, balance and load. No I/O, clock or framework."""
