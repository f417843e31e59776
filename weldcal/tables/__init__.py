"""What people query: tables derived from the entries, dropped and rebuilt at will."""
