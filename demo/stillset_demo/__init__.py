"""An invented team-handball club and season with known truth, written as documents of the public API."""
