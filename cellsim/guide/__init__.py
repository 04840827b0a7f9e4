"""The guide: pages to read, on the terminal and as one HTML file, and files to try the commands with.

Pages written by hand stand in `pages/`, in the part of Markdown that `blocks.py` reads; the others are made
from the tables that they describe.
"""
