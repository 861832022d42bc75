"""The house rules as functions: a package folder in, a list of offences (``file:line``) out."""

from __future__ import annotations

import ast
import builtins
import re
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import FUNCTION, ancestors_of, class_family, modules, nodes

MODULE_LINES = 300
FUNCTION_LINES = 100
UNFINISHED = re.compile(r"\b(TODO|FIXME|XXX|HACK)\b")
MUTE_NAMES = {"util", "utils", "helper", "helpers", "common", "manager", "managers", "misc"}
TERMINAL = {"sys.exit", "sys.stdout", "sys.stderr", "os._exit"}
RECORDS_MAY_IMPORT = {"numpy", "jaxtyping", "fiddlehead.errors", "fiddlehead.units"}


# ----------------------------------------------------------------------------------------- sizes


def too_long(package: Path, excused: dict[str, str]) -> list[str]:
    """Modules over 300 lines and functions over 100; ``excused`` maps places to reasons."""
    found = []
    for path in sorted(package.rglob("*.py")):
        place = path.relative_to(package.parent).as_posix()
        lines = len(path.read_text(encoding="utf-8").splitlines())
        if lines > MODULE_LINES and place not in excused:
            found.append(f"{place}: {lines} lines, allowed {MODULE_LINES}")
    for name, node in nodes(package, *FUNCTION):
        lines = node.end_lineno - node.lineno + 1
        if lines > FUNCTION_LINES and f"{name}:{node.name}" not in excused:
            found.append(f"{name}:{node.lineno} {node.name}: {lines} lines")
    return found


def mute_names(package: Path) -> list[str]:
    """Modules and folders whose name says nothing about what lives there."""
    places = [path for path in package.rglob("*") if path.suffix == ".py" or path.is_dir()]
    return [
        f"{path.relative_to(package.parent).as_posix()}: say what it holds"
        for path in sorted(places)
        if MUTE_NAMES & set(path.stem.strip("_").split("_"))
    ]


# --------------------------------------------------------------------------- who may do what


def prints_or_exits(package: Path) -> list[str]:
    """Printing, exiting or writing to the terminal anywhere but in ``cli``."""
    found = []
    for name, node in nodes(package, ast.Call, ast.Raise, ast.Attribute):
        if name.startswith("fiddlehead/cli/"):
            continue
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            if node.func.id in {"print", "exit", "quit"}:
                found.append(f"{name}:{node.lineno} {node.func.id}()")
        elif isinstance(node, ast.Raise):
            raised = node.exc.func if isinstance(node.exc, ast.Call) else node.exc
            if isinstance(raised, ast.Name) and raised.id == "SystemExit":
                found.append(f"{name}:{node.lineno} SystemExit")
        elif isinstance(node, ast.Attribute) and ast.unparse(node) in TERMINAL:
            found.append(f"{name}:{node.lineno} {ast.unparse(node)}")
    return found


def _opens_for_writing(call: ast.Call) -> bool:
    is_builtin = isinstance(call.func, ast.Name)
    position = 1 if is_builtin else 0  # open(path, mode) or path.open(mode)
    modes = [keyword.value for keyword in call.keywords if keyword.arg == "mode"]
    modes += call.args[position : position + 1]
    return any(
        isinstance(mode, ast.Constant) and set(str(mode.value)) & set("wax+") for mode in modes
    )


def writes_files(package: Path) -> list[str]:
    """Files written past ``fiddlehead.files``, so that a crash could leave half of one."""
    found = []
    for name, node in nodes(package, ast.Call):
        if name == "fiddlehead/files.py":
            continue
        function = node.func
        called = function.id if isinstance(function, ast.Name) else getattr(function, "attr", "")
        if called == "open" and _opens_for_writing(node):
            found.append(f"{name}:{node.lineno} open() for writing")
        elif called in {"write_text", "write_bytes"} and isinstance(function, ast.Attribute):
            owner = function.value
            if not (isinstance(owner, ast.Name) and owner.id == "files"):
                found.append(f"{name}:{node.lineno} .{called}()")
    return found


# ------------------------------------------------------------------------------------- imports


def imported(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and dotted name of every import, the imported member included where there is one."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.lineno, node.module or "."


def heavy_records(package: Path, standard_library: frozenset[str]) -> list[str]:
    """Imports of ``records.py`` beyond numpy, errors, units and other records."""
    found = []
    for name, tree in modules(package):
        if not name.endswith("/records.py"):
            continue
        for line, target in imported(tree):
            own = target in RECORDS_MAY_IMPORT or target.startswith("numpy.")
            records = target.startswith("fiddlehead.") and target.endswith(".records")
            if not (own or records or target.split(".")[0] in standard_library):
                found.append(f"{name}:{line} imports {target}")
    return found


def unfinished(package: Path) -> list[str]:
    """Marks of work left undone."""
    return [
        f"{path.relative_to(package.parent).as_posix()}:{number} {line.strip()}"
        for path in sorted(package.rglob("*.py"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if UNFINISHED.search(line)
    ]


# -------------------------------------------------------------------------------------- errors

BUILT_IN_ERRORS = {
    name
    for name, kind in vars(builtins).items()
    if isinstance(kind, type) and issubclass(kind, Exception) and not issubclass(kind, Warning)
}
# These three tell a programmer, not a user; __getattr__ of a module must raise AttributeError.
MAY_BE_RAISED = {"NotImplementedError", "TypeError", "AttributeError"}


def bare_raises(package: Path) -> list[str]:
    """Built-in errors raised where one of ours would say where, found, allowed and remedy."""
    found = []
    for name, node in nodes(package, ast.Raise):
        raised = node.exc.func if isinstance(node.exc, ast.Call) else node.exc
        if isinstance(raised, ast.Name) and raised.id in BUILT_IN_ERRORS - MAY_BE_RAISED:
            found.append(f"{name}:{node.lineno} {raised.id}")
    return found


def stray_errors(package: Path, signals: dict[str, str]) -> list[str]:
    """Error classes outside the tree that ``errors.py`` draws.

    ``signals`` maps exceptions that report no error to the reason they exist.
    """
    classes = class_family(package)
    found = []
    for name, node in nodes(package, ast.ClassDef):
        ancestors = set(ancestors_of(node, classes))
        at_home = "FiddleheadError" in ancestors | {node.name} or node.name in signals
        if ancestors & BUILT_IN_ERRORS and not at_home:
            found.append(f"{name}:{node.lineno} {node.name} is no FiddleheadError")
    return found


# ------------------------------------------------------------------------------ shipped files

HOST_MARKS = ("://", "--index-url", "--extra-index-url", "--find-links", "--trusted-host", " @ ")


def registry_hosts(path: Path) -> list[str]:
    """Lines of an install file that name where packages come from."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [
        f"{path.name}:{number} {line.strip()}"
        for number, line in enumerate(lines, 1)
        if any(mark in line for mark in HOST_MARKS) or line.startswith("-")
    ]
