"""The commands of the command line: each parses, calls one function, prints and sets the exit code."""
