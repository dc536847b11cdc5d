"""The whole job in a browser, for someone who has never opened a terminal."""
