"""The desk: top line, shelf, first start, the field that finds everything."""
