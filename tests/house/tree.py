"""The package as syntax trees: its modules, nodes and class families."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

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


def class_family(package: Path) -> dict[str, tuple[str, ast.ClassDef]]:
    """Every class by its name, with the path of its module."""
    return {node.name: (name, node) for name, node in nodes(package, ast.ClassDef)}


def base_names(node: ast.ClassDef) -> list[str]:
    """Names of the classes a class is derived from, as written."""
    bases = [base.value if isinstance(base, ast.Subscript) else base for base in node.bases]
    return [base.id if isinstance(base, ast.Name) else getattr(base, "attr", "") for base in bases]


def ancestors_of(node: ast.ClassDef, classes: dict[str, tuple[str, ast.ClassDef]]) -> list[str]:
    """Names of all classes above one, as far as the package knows them."""
    found: list[str] = []
    waiting = base_names(node)
    while waiting:
        base = waiting.pop()
        if base not in found:
            found.append(base)
            waiting += base_names(classes[base][1]) if base in classes else []
    return found
