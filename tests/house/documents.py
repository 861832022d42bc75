"""The rules on documents and shapes: a package folder in, a list of offences out."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.tree import FUNCTION, ancestors_of, class_family, modules, nodes

FRONT_PAGE_LINES = 4
BARE_ARRAYS = {"ndarray", "NDArray", "ArrayLike", "Array"}
SHAPED = {"Float", "Int", "Bool", "Shaped", "Inexact", "Integer", "Num", "UInt8", "Float32"}


def blank_front_pages(package: Path) -> list[str]:
    """Rooms whose front page does not say what comes in, goes out and stays outside."""
    rooms = [name for name, _ in modules(package) if name.count("/") == 2]
    return [
        f"{name}: {len(told.splitlines())} lines, at least {FRONT_PAGE_LINES}"
        for name, tree in modules(package)
        if name in rooms and name.endswith("/__init__.py")
        if len((told := ast.get_docstring(tree) or "").splitlines()) < FRONT_PAGE_LINES
    ]


def _is_public(name: str) -> bool:
    return not name.startswith("_")


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
    classes = class_family(package)
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
            [classes[b][1] for b in ancestors_of(owner, classes) if b in classes] if owner else []
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
