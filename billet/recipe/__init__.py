"""TOML to values: the tables of a recipe, its stack and its blade, and the line of every mistake."""
