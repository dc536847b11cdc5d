"""Where compiled loops are kept between runs."""

import os
import platform
import sys
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from platformdirs import user_cache_path

_HERE = Path(__file__).parent


@cache
def cache_folder() -> Path | None:
    """The folder of these loops; None where nothing can be written.

    It is named after the source of all loops and after what compiles them: numba itself looks only
    at the file of one function alone, and a loop may call those of other files.
    """
    source = b"".join(path.read_bytes() for path in sorted(_HERE.glob("*.py")))
    compiler = f"{version('numba')} {sys.implementation.cache_tag} {platform.machine()}"
    name = sha256(source + compiler.encode()).hexdigest()[:16]
    chosen = os.environ.get("NUMBA_CACHE_DIR")
    folders = (_HERE / "__pycache__", user_cache_path("nesting"))
    for folder in (Path(chosen), *folders) if chosen else folders:
        try:
            (folder / name).mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder / name, os.W_OK):
            return folder / name
    return None
