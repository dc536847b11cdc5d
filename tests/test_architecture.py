"""Who may import whom: imports run one way, and heavy libraries are loaded where they are used."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "nesting"
MODULES = sorted(ROOT.rglob("*.py"))

# What each part may import, imports inside functions included.
ALLOWED = {
    "units": set(),
    "file_names": set(),
    "batch": {"units"},
    "layers": {"batch"},
    "plan": {"batch"},
    "rows": {"batch", "plan"},
    "strokes": {"batch", "plan", "rows"},
    "faults": {"units", "batch", "layers"},
    "cautions": {"units", "batch", "layers"},
    "check": {"units", "batch", "plan"},
    "files": {"units", "batch", "layers", "faults", "plan", "variants"},
    "draw": {"units", "batch", "layers", "needs", "plan", "rows", "strokes"},
    "pack": {"units", "batch", "layers", "faults", "cautions", "plan", "rows", "strokes"},
    "cutfile": {"units", "file_names", "batch", "plan", "draw", "pack"},
    "variants": {"batch", "layers"},
    "looks": {"units", "batch", "layers"},
    "small_changes": {"units", "batch", "layers", "variants", "looks"},
    "compare": {"batch", "layers", "faults", "plan", "check", "pack", "variants"},
    "suggest": {
        "batch", "layers", "faults", "cautions", "plan", "pack", "variants", "looks", "small_changes", "compare",
    },
    "needs": {"plan"},
    "enough": {"batch", "layers", "needs", "pack", "plan"},
}  # fmt: skip
# What puts all parts together may import any of them.
LAST = {"", "cli", "folder", "tables", "comparison_tables", "bench"}
# Heavy libraries, and the parts that may import them as they are loaded themselves.
HEAVY = {
    "numpy": {
        "pack.kernels.compiled",
        "pack.kernels.ruin_loop",
        "pack.kernels.listing_loop",
        "pack.kernels.near_full_loop",
    },  # itself loaded only when the long search begins
    "numba": {"pack.kernels.compiled"},
    "matplotlib": {"draw.line_of_text"},  # itself loaded only when something is drawn
    "shapely": set[str](),
    "highspy": set[str](),
    "rectpack": set[str](),
    "pydantic": {"files"},
    "pydantic_core": {"files"},
    "ruamel": {"files"},
    "rich": set[str](),
}
# Libraries of one part only, wherever in its modules they are imported.
ONLY_IN = {
    "pydantic": {"files"},
    "pydantic_core": {"files"},
    "ruamel": {"files"},
    "matplotlib": {"draw"},
    "highspy": {"pack"},
    "numba": {"pack"},
    "rectpack": {"bench", "cutfile"},
    "click": {"cli"},
}


def name_of(path: Path) -> str:
    """A module's name below the package, empty for the package itself."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def imports(path: Path) -> Iterator[tuple[str, bool]]:
    """Every module that a file imports, and whether that is done as the file itself is loaded."""
    todo: list[tuple[ast.AST, bool]] = [(ast.parse(path.read_text("utf-8")), True)]
    while todo:
        node, at_once = todo.pop()
        if isinstance(node, ast.Import):
            yield from ((alias.name, at_once) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: a relative import"
            yield node.module or "", at_once
            if node.module == "nesting":
                yield from ((f"nesting.{alias.name}", at_once) for alias in node.names)
        typing_only = isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        later = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) or typing_only
        todo.extend((child, at_once and not later) for child in ast.iter_child_nodes(node))


def parts_imported(path: Path) -> set[str]:
    """The parts of the package that a file imports."""
    names = {name for name, _ in imports(path) if name.startswith("nesting.")}
    parts = {name.split(".")[1] for name in names}
    return {part for part in parts if (ROOT / part).is_dir() or (ROOT / f"{part}.py").exists()}


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_run_one_way(path: Path) -> None:
    """A module imports its own part and those before it, never one after it."""
    part = name_of(path).split(".")[0]
    assert part in LAST or parts_imported(path) <= ALLOWED[part] | {part}


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_heavy_libraries_are_loaded_where_they_are_used(path: Path) -> None:
    """No module loads a heavy library as it is loaded itself, but for the few that are all about it."""
    name = name_of(path)
    for imported, at_once in imports(path):
        library = imported.split(".")[0]
        if at_once and library in HEAVY:
            assert {name, name.split(".")[0]} & HEAVY[library], f"{name} loads {library}"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_each_library_has_its_part(path: Path) -> None:
    """Reading and writing is pydantic's and ruamel's, drawing matplotlib's, searching HiGHS's alone."""
    part = name_of(path).split(".")[0]
    used = {imported.split(".")[0] for imported, _ in imports(path)}
    for library in used & ONLY_IN.keys():
        assert part in ONLY_IN[library], f"{part} uses {library}"


def loaded_by(statement: str) -> set[str]:
    """The top-level modules that a fresh Python has loaded after a statement."""
    code = f"import sys; {statement}; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return {name.split(".")[0] for name in run.stdout.split()}


@pytest.mark.parametrize(
    ("statement", "unwanted"),
    [
        (
            "import nesting",
            {"numpy", "matplotlib", "highspy", "pydantic", "ruamel", "numba", "rich"},
        ),
        ("import nesting.cli", {"numpy", "matplotlib", "highspy", "pydantic", "ruamel", "numba"}),
        ("import nesting.check", {"numpy", "matplotlib", "highspy", "pydantic", "numba"}),
        ("import nesting.pack", {"numpy", "matplotlib", "highspy", "pydantic", "numba"}),
        ("import nesting.files", {"numpy", "matplotlib", "highspy", "numba"}),
        ("import nesting.draw", {"numpy", "matplotlib", "highspy", "pydantic", "numba"}),
        (
            "import nesting.cutfile.files",
            {"numpy", "matplotlib", "shapely", "rectpack", "pydantic"},
        ),
    ],
)
def test_importing_loads_nothing_heavy(statement: str, unwanted: set[str]) -> None:
    """A fresh Python that imports a part has none of the heavy libraries loaded."""
    loaded = loaded_by(statement)
    assert "nesting" in loaded
    assert not loaded & unwanted


def test_the_checker_shares_no_code_with_the_packer() -> None:
    """Loading the checker loads nothing of the packer, of layers or of files."""
    code = "import sys, nesting.check; print(*[m for m in sys.modules if m.startswith('nesting.')])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    parts = {name.split(".")[1] for name in run.stdout.split()}
    assert parts == {"check", "plan", "batch", "units"}
