"""Who may import whom: imports run one way, and heavy libraries are loaded where they are used."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "nesting"

# What each room or module may import, imports inside functions included. The rooms of checker,
# pack, draw and page are held to an order of their own.
ALLOWED = {
    "arrays": set(),
    "errors": set(),
    "version": set(),
    "prices": set(),
    "units": set(),
    "typed_lengths": {"errors", "units"},
    "file_names": set(),
    "collecting": set(),
    "workers": {"collecting", "errors"},
    "papers": set(),
    "pieces": {"papers"},
    "batch": {"errors", "units", "papers", "pieces"},
    "layouts": {"papers"},
    "sheets": {"papers", "batch", "nearest"},
    "nearest": set(),
    "envelopes": {"units"},
    "cards": {"units", "papers", "pieces", "batch", "nearest", "sheets", "envelopes"},
    "plan": {"papers", "pieces", "batch", "layouts"},
    "sources": {"units", "papers", "batch", "sheets", "layouts", "plan"},
    "shares": {"papers", "pieces", "layouts", "sources"},
    "record": {"errors", "units"},
    "needs": {"papers", "pieces", "batch", "cards", "plan", "sources"},
    "mark": {"layouts", "plan"},
    "cutting": {"units", "papers", "pieces", "batch", "sheets", "layouts", "plan", "sources", "record"},
    "checker.fault": {"pieces"},
    "checker.cutting": {"papers", "batch", "layouts"},
    "checker.asked": {
        "checker.fault", "checker.cutting", "units", "papers", "pieces", "batch", "envelopes", "layouts", "plan", "mark", "record",
    },
    "checker.case": {"checker.cutting", "checker.asked", "papers", "pieces", "batch", "plan"},
    "checker.rules": {
        "arrays", "checker.fault", "checker.cutting", "checker.asked", "checker.case", "units", "papers", "pieces", "batch", "layouts", "plan",
    },
    "checker": {"checker.fault", "checker.cutting", "checker.asked", "checker.case", "checker.rules", "batch", "plan"},
    "files": {"errors", "prices", "units", "typed_lengths", "papers", "pieces", "batch", "sheets", "envelopes", "cards", "nearest", "layouts", "plan", "cutting", "advice.variants"},
    "stash": {"errors", "prices", "units", "typed_lengths", "papers", "batch", "sheets", "nearest", "mark", "layouts", "plan", "sources", "record", "cutting"},
    "draw.canvas": {"units"},
    "draw.sheet": {
        "draw.canvas", "cards", "units", "papers", "pieces", "batch", "sheets", "mark", "needs", "layouts", "plan", "sources", "shares", "record", "cutting",
    },
    "draw.card": {"draw.canvas", "draw.sheet", "units", "cards", "papers", "pieces", "batch", "mark", "needs", "layouts", "plan"},
    "draw.pages": {
        "draw.canvas", "draw.sheet", "draw.card", "prices", "units", "papers", "pieces", "batch", "cards", "needs", "layouts", "plan", "sources", "record", "cutting",
    },
    "draw": {"draw.canvas", "draw.sheet", "draw.card", "draw.pages"},
    "pack.model": {"arrays", "papers", "pieces", "batch", "sheets"},
    "pack.kernels": {"arrays"},
    "pack.one_sheet": {"arrays", "pack.model", "pack.kernels", "papers"},
    "pack.lp": {"pack.model"},
    "pack.bounds": {"pack.model", "pack.one_sheet", "plan"},
    "pack.search": {
        "arrays", "pack.model", "pack.kernels", "pack.one_sheet", "pack.lp", "pack.bounds", "papers", "pieces", "batch", "sheets", "layouts", "plan", "sources", "cutting",
    },
    "pack.shortage": {
        "pack.model", "pack.one_sheet", "pack.lp", "pack.bounds", "pack.search", "papers", "pieces", "batch", "sheets", "cards", "plan", "sources",
    },
    "pack.cut_trees": {"pack.model", "units", "papers", "pieces", "batch", "sheets", "layouts"},
    "pack.first_look": {"pack.model", "pack.bounds", "pack.search", "pack.shortage", "papers", "pieces", "batch", "plan"},
    "pack.answer": {
        "pack.model", "pack.search", "pack.shortage", "pack.cut_trees", "papers", "pieces", "batch", "sheets", "cards", "layouts", "plan", "sources", "shares", "cutting", "version",
    },
    "pack.stopping": {"pack.model", "pack.bounds", "pack.search", "plan"},
    "pack": {"pack.model", "pack.first_look", "pack.stopping", "pack.search", "pack.shortage", "pack.answer", "batch", "cards", "plan"},
    "going_on": {"batch", "cutting", "plan", "sources", "mark", "record", "cards", "pack"},
    "cutfile": {"arrays", "errors", "units", "file_names", "papers", "pieces", "batch", "sheets", "layouts", "plan", "sources", "draw"},
    "page.pictures": {"draw", "units", "papers", "batch", "sheets", "cards", "layouts", "plan", "cutting"},
    "advice": {"errors", "units", "papers", "pieces", "batch", "sheets", "cards", "plan", "sources", "needs", "cutting", "checker", "pack"},
    "advice.words": {"prices", "units", "draw", "advice"},
    "page.rendering": {"draw"},
    "page.guard": {"page.rendering", "errors"},
    "page.folder": {
        "page.guard", "errors", "units", "typed_lengths", "file_names", "papers", "batch", "sheets", "layouts", "plan", "mark", "record", "cutting", "files", "stash",
    },
    "page.workers": {
        "version", "units", "typed_lengths", "workers", "batch", "plan", "record", "needs", "stash", "draw", "cutfile", "advice", "pack", "going_on",
    },
    "page.steps": {
        "page.rendering", "page.pictures", "page.folder", "page.workers", "prices", "units", "typed_lengths", "papers", "batch", "nearest", "cards", "layouts", "plan", "mark",
        "needs", "cutting", "files", "stash", "draw", "advice",
    },
    "page.requests": {
        "page.rendering", "page.pictures", "page.folder", "page.workers", "page.steps", "units", "typed_lengths", "file_names", "papers", "batch", "cards", "plan", "mark",
        "record", "files", "stash", "draw", "cutfile", "advice",
    },
    "page": {"page.rendering", "page.guard", "page.folder", "page.requests", "errors", "files"},
}  # fmt: skip
# What puts all parts together may import any of them.
LAST = {"", "cli", "bench"}
# Heavy libraries, and the parts that may import them as they are loaded themselves.
HEAVY = {
    # Loaded with the packer and the checker, which nobody needs who only reads or draws.
    "numpy": {"arrays", "pack", "checker", "cutfile.bound", "draw.canvas.png_dots"},
    "numba": {"pack.kernels.compiled"},
    # These are themselves loaded only when something is drawn.
    "matplotlib": {"draw.canvas.line_of_text", "draw.canvas.pdf_pages", "draw.canvas.png_dots"},
    "pydyf": {"draw.canvas.pdf_fonts", "draw.canvas.pdf_pages"},
    "uharfbuzz": {"draw.canvas.pdf_fonts"},
    "shapely": set[str](),
    "highspy": set[str](),
    "rectpack": set[str](),
    "pydantic": {"files"},
    "pydantic_core": {"files"},
    "ruamel": {"files"},
    "PIL": set[str](),
    "rich": set[str](),
    # Loaded with the page, which answers requests by it.
    "starlette": {"page"},
    "jinja2": set[str](),
    "uvicorn": set[str](),
}
# Libraries of one part only, wherever in its modules they are imported.
ONLY_IN = {
    "pydantic": {"files"},
    "pydantic_core": {"files"},
    "PIL": {"draw", "page"},
    "ruamel": {"files"},
    "matplotlib": {"draw", "bench"},
    "pydyf": {"draw"},
    "uharfbuzz": {"draw"},
    "highspy": {"pack"},
    "numba": {"pack"},
    "rectpack": {"bench", "cutfile"},
    "distributed": {"bench"},
    "click": {"cli"},
    "starlette": {"page"},
    "jinja2": {"page"},
    "uvicorn": {"page"},
}


def name_of(path: Path) -> str:
    """A module's name below the package, empty for the package itself."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


MODULES = {name_of(path): path for path in sorted(ROOT.rglob("*.py"))}


@cache
def imports(path: Path) -> set[tuple[str, bool]]:
    """Every module that a file imports, and whether that is done as the file itself is loaded."""
    return set(imports_of(path))


def imports_of(path: Path) -> Iterator[tuple[str, bool]]:
    """The same, one after the other."""
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


def room_of(name: str) -> str:
    """The room or module, of those in the order, that a module belongs to."""
    parts = name.split(".")
    known = (".".join(parts[:n]) for n in range(len(parts), 0, -1))
    return next((room for room in known if room in ALLOWED), parts[0])


def modules_imported(path: Path) -> set[str]:
    """The modules of the package that a file imports."""
    names = {
        name.removeprefix("nesting.") for name, _ in imports(path) if name.startswith("nesting.")
    }
    return names & MODULES.keys()


def test_imports_run_one_way() -> None:
    """A module imports its own room and those before it, never one after it."""
    offenders = [
        f"{name} imports {imported}"
        for name, path in MODULES.items()
        if room_of(name) not in LAST
        for imported in sorted(modules_imported(path))
        if room_of(imported) != room_of(name)
        and not {imported, room_of(imported), imported.split(".")[0]} & ALLOWED[room_of(name)]
    ]
    assert not offenders


def test_only_the_packer_sees_its_insides() -> None:
    """Whoever plans takes from ``nesting.pack`` what it exports; only benchmarks measure its rooms."""
    offenders = [
        f"{name} imports {imported}"
        for name, path in MODULES.items()
        if name.split(".")[0] not in ("pack", "bench")
        for imported in sorted(modules_imported(path))
        if imported.startswith("pack.")
    ]
    assert not offenders


def test_heavy_libraries_are_loaded_where_they_are_used() -> None:
    """No module loads a heavy library as it is loaded itself, but for the few that are all about it."""
    offenders = [
        f"{name} loads {library}"
        for name, path in MODULES.items()
        for library in {imported.split(".")[0] for imported, at_once in imports(path) if at_once}
        if library in HEAVY and not {name, name.split(".")[0]} & HEAVY[library]
    ]
    assert not offenders


def test_each_library_has_its_part() -> None:
    """Reading and writing is pydantic's and ruamel's, drawing matplotlib's, searching HiGHS's alone."""
    offenders = [
        f"{name} uses {library}"
        for name, path in MODULES.items()
        for library in {imported.split(".")[0] for imported, _ in imports(path)}
        if library in ONLY_IN and name.split(".")[0] not in ONLY_IN[library]
    ]
    assert not offenders


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
        ("import nesting.checker", {"matplotlib", "highspy", "pydantic", "numba"}),
        ("import nesting.pack", {"matplotlib", "highspy", "pydantic", "numba"}),
        ("import nesting.files", {"numpy", "matplotlib", "highspy", "numba"}),
        ("import nesting.page.serving", {"numpy", "matplotlib", "highspy", "numba", "rich"}),
        ("import nesting.draw", {"numpy", "matplotlib", "highspy", "pydantic", "numba"}),
        (
            "import nesting.cutfile.written_files",
            {"matplotlib", "shapely", "rectpack", "pydantic"},
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
    code = (
        "import sys, nesting.checker; print(*[m for m in sys.modules if m.startswith('nesting.')])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    parts = {name.split(".")[1] for name in run.stdout.split()}
    assert parts == {
        "checker",
        "plan",
        "layouts",
        "batch",
        "pieces",
        "papers",
        "envelopes",
        "units",
        "arrays",
        "errors",
        "mark",
        "record",
    }


def test_no_module_imports_itself_by_way_of_others() -> None:
    """There is no circle of imports, those for types alone included."""
    graph = {name: modules_imported(path) - {name} for name, path in MODULES.items()}
    # A room's own file is loaded with any of its modules, so it is no link between them.
    left = {name: {one for one in used if one not in LAST} for name, used in graph.items()}
    while free := {name for name, used in left.items() if not used & left.keys()}:
        left = {name: used for name, used in left.items() if name not in free}
    assert not left, f"circles among {sorted(left)}"
