"""Batch files, lists of pieces and plans on disk.

What others take from here is in the stub beside this file; it is loaded when it is first used.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
