"""Formulas of textbooks that the tests set beside the product: it does not use them itself."""
