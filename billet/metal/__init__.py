"""Metallurgy as pure functions: one topic per file, SI units or weight percent, no imports from the rest of the project."""
