"""What a page says, then how it is shown."""
