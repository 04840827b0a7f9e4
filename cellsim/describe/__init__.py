"""From YAML text to a typed, fully resolved description of a cell."""
