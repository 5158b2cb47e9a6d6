"""Python client for a stillset service."""
