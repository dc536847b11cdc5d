"""What was asked, worked out again: defaults, places, sizes, ways to cut, what is cut already."""
