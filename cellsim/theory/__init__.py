"""Closed forms, exact chains and bounds for stations and lines: arrays and floats only, no cell."""
