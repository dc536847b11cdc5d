"""Where paper is short or may be chosen: as many whole cards as it gives."""
