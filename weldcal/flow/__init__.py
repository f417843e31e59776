"""The guided day: which question comes next, and the plain command when a step is complete."""
