"""A card's pages: its picture, its recipe, labels for its bags."""
