"""Measure the packer: random batches of the trade, growth with the number of cards, a baseline."""
