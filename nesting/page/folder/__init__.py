"""The folder that the page is opened on, and what is kept in it and in the stash."""
