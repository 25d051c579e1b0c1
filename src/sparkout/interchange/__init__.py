"""Tables of any shape in, tables out: reading, proposing what each column is, checking rows. No database here."""
