"""`python -m cellsim` is the command `cellsim`."""

from cellsim.cli import main

main(prog_name="cellsim")
