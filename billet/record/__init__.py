"""The bench record: what the smith measured and what went wrong, for every knife, over years.

Notes are added and never rewritten; they live in one SQLite file beside the recipes.
"""
