"""Records: frozen values of what people do and see. They know nothing of storage."""
