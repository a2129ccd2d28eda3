"""The score on paper: engraved for a sheet, painted as a PDF in a process of its own."""
