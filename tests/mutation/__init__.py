"""Whether the tests would notice: small faults put into the program one at a time, by hand."""
