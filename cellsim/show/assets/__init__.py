"""Style, script and frame of the pages that are made; read as files, never run from here."""
