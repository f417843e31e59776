"""What writes entries. Whatever only reads a book never imports from here."""
