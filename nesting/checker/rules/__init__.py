"""What a plan has to hold to, rule by rule."""
