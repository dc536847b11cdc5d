"""One sheet at a time: the dynamic programme, greedy filling, enumeration of patterns."""
