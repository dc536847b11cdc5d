"""What a browser asks for and says, and what it is answered."""
