"""What a change of a cell is worth: flows of money, cost of a unit, chance to pay back."""
