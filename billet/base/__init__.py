"""The ground floor: units, fields of a recipe, messages, whole files, cautions, a shop's habits."""
