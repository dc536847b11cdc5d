"""How the answer is found: ``solve`` puts the stages together."""
