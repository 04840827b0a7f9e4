"""Known results of queueing and line theory, and whether this program agrees with them."""
