"""What a notebook needs: one call for each study, results that show themselves, tables with units."""
