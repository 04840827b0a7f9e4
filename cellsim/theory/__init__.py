"""Known results about stations, lines and loops: arrays and numbers in, figures out; knows no cell."""
