"""A recipe run forwards, with an eye on every step: rows, warnings, plain data."""
