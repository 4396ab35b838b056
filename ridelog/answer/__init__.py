"""The answer to a ride: frozen records of numbers, and their form as plain data."""
