"""What takes long, in processes beside the page."""
