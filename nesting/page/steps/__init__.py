"""The steps of the day, each with what its fields start from and show."""
