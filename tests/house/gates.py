"""The house rules as functions: a package folder in, a list of offences (``file:line``) out."""

from __future__ import annotations

import ast
import builtins
from collections.abc import Iterator
from pathlib import Path

MODULE_LINES = 300
FUNCTION_LINES = 100
MUTE_NAMES = {"util", "utils", "helper", "helpers", "common", "manager", "managers", "misc"}
BARE_ARRAYS = {"ndarray", "NDArray", "ArrayLike", "Array"}
SHAPED = {"Float", "Int", "Bool", "Shaped", "Inexact", "Integer", "Num", "UInt8", "Float32"}
TERMINAL = {"sys.exit", "sys.stdout", "sys.stderr", "os._exit"}
RECORDS_MAY_IMPORT = {"numpy", "jaxtyping", "fiddlehead.errors", "fiddlehead.units"}
FUNCTION = (ast.FunctionDef, ast.AsyncFunctionDef)


def modules(package: Path) -> Iterator[tuple[str, ast.Module]]:
    """Each module as (path from the package's parent, syntax tree)."""
    for path in sorted(package.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"), filename=str(path))
        yield path.relative_to(package.parent).as_posix(), tree


def nodes(package: Path, *kinds: type[ast.AST]) -> Iterator[tuple[str, ast.AST]]:
    """Each syntax node of the given kinds with the path of its module."""
    for name, tree in modules(package):
        for node in ast.walk(tree):
            if isinstance(node, kinds):
                yield name, node


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


# ---------------------------------------------------------------------- documents and shapes


def _is_public(name: str) -> bool:
    return not name.startswith("_")


def _classes(package: Path) -> dict[str, tuple[str, ast.ClassDef]]:
    return {node.name: (name, node) for name, node in nodes(package, ast.ClassDef)}


def _base_names(node: ast.ClassDef) -> list[str]:
    bases = [base.value if isinstance(base, ast.Subscript) else base for base in node.bases]
    return [base.id if isinstance(base, ast.Name) else getattr(base, "attr", "") for base in bases]


def _ancestors(node: ast.ClassDef, classes: dict[str, tuple[str, ast.ClassDef]]) -> list[str]:
    found: list[str] = []
    waiting = _base_names(node)
    while waiting:
        base = waiting.pop()
        if base not in found:
            found.append(base)
            waiting += _base_names(classes[base][1]) if base in classes else []
    return found


def _documented_methods(node: ast.ClassDef) -> set[str]:
    return {item.name for item in node.body if isinstance(item, FUNCTION) and _has_docstring(item)}


def _has_docstring(node: ast.AST) -> bool:
    return bool((ast.get_docstring(node) or "").strip())


def _public_functions(package: Path) -> Iterator[tuple[str, ast.AST, ast.ClassDef | None]]:
    for name, tree in modules(package):
        for item in tree.body:
            if isinstance(item, FUNCTION) and _is_public(item.name):
                yield name, item, None
            elif isinstance(item, ast.ClassDef) and _is_public(item.name):
                methods = [part for part in item.body if isinstance(part, FUNCTION)]
                yield from ((name, part, item) for part in methods if _is_public(part.name))


def undocumented(package: Path) -> list[str]:
    """Modules, public classes, functions and methods without a docstring.

    A method documented on a base class of ours counts as documented in the children; the test
    methods of a contract are named by what they assert.
    """
    classes = _classes(package)
    found = [f"{name}:1 module" for name, tree in modules(package) if not _has_docstring(tree)]
    for name, tree in modules(package):
        for item in tree.body:
            is_class = isinstance(item, ast.ClassDef) and _is_public(item.name)
            if is_class and not _has_docstring(item):
                found.append(f"{name}:{item.lineno} {item.name}")
    for name, function, owner in _public_functions(package):
        if owner and function.name.startswith("test_"):
            continue
        inherited = (
            [classes[b][1] for b in _ancestors(owner, classes) if b in classes] if owner else []
        )
        told = any(function.name in _documented_methods(base) for base in inherited)
        if not told and not _has_docstring(function):
            place = f"{owner.name}.{function.name}" if owner else function.name
            found.append(f"{name}:{function.lineno} {place}")
    return found


def _bare_arrays(annotation: ast.AST | None) -> bool:
    """Does an annotation name an array type outside ``Float[..., "shape"]``?"""
    if annotation is None:
        return False
    if isinstance(annotation, ast.Constant) and isinstance(annotation.value, str):
        return False  # shape strings
    if isinstance(annotation, ast.Subscript):
        wrapper = annotation.value
        named = wrapper.id if isinstance(wrapper, ast.Name) else getattr(wrapper, "attr", "")
        if named in SHAPED:
            return False
    if isinstance(annotation, ast.Name) and annotation.id in BARE_ARRAYS:
        return True
    if isinstance(annotation, ast.Attribute) and annotation.attr in BARE_ARRAYS:
        return True
    return any(_bare_arrays(child) for child in ast.iter_child_nodes(annotation))


def shapeless(package: Path) -> list[str]:
    """Public arguments, returns and fields that are arrays but do not tell their shape."""
    found = []
    for name, function, _ in _public_functions(package):
        arguments = function.args.posonlyargs + function.args.args + function.args.kwonlyargs
        places = [(a.arg, a.annotation) for a in arguments] + [("return", function.returns)]
        found += [
            f"{name}:{function.lineno} {function.name}: {place}"
            for place, annotation in places
            if _bare_arrays(annotation)
        ]
    for name, item in nodes(package, ast.ClassDef):
        annotated = [part for part in item.body if isinstance(part, ast.AnnAssign)]
        fields = [field for field in annotated if _is_public(item.name)]
        found += [
            f"{name}:{field.lineno} {item.name}.{ast.unparse(field.target)}"
            for field in fields
            if _bare_arrays(field.annotation)
        ]
    return found


# -------------------------------------------------------------------------------------- errors

BUILT_IN_ERRORS = {
    name
    for name, kind in vars(builtins).items()
    if isinstance(kind, type) and issubclass(kind, Exception) and not issubclass(kind, Warning)
}
MAY_BE_RAISED = {"NotImplementedError", "AssertionError", "StopIteration"}


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
    classes = _classes(package)
    found = []
    for name, node in classes.values():
        ancestors = set(_ancestors(node, classes))
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
