"""The command line: parses, calls one method of the book, prints. No rule lives here."""
