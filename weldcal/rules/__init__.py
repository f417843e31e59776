"""One question, one pure function: what every page, prompt and file asks."""
