"""What a page shows, as structs that the book fills and the pages take."""
