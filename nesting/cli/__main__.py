"""``python -m nesting.cli`` is ``nesting``."""

from nesting.cli import main

main()
