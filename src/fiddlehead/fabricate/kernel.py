"""The one module that knows the solid-modelling kernel (an OpenCASCADE binding, loaded late).

Shapes pass through the rest of the room as opaque values.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from fiddlehead.errors import InputError, MissingExtra, StoreError
from fiddlehead.fabricate.contour import Contour

Shape = Any
Place = Float[np.ndarray, "3 4"]
"""Rotation and shift: columns are the images of x, y, z and the origin."""
CHORD_MM, CHORD_RAD = 0.01, 0.25
"""How far triangles may stand off a curved face: distance and turn per edge."""
SAME_POINT_MM = 1e-6


def _need() -> None:
    try:
        import OCP  # noqa: F401
    except ImportError as error:
        raise MissingExtra(
            "the solid-modelling kernel is not installed",
            remedy="pip install cadquery-ocp-novtk",
        ) from error


def prism(outer: Contour, holes: Sequence[Contour], low: float, high: float) -> Shape:
    """A solid with section ``outer`` less ``holes`` in x and y, from z = ``low`` to ``high``."""
    _need()
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec
    from OCP.TopoDS import TopoDS

    plane = gp_Pln(gp_Pnt(0, 0, low), gp_Dir(0, 0, 1))
    face = BRepBuilderAPI_MakeFace(plane, _wire(outer, low), True)
    for hole in holes:
        face.Add(TopoDS.Wire(_wire(hole, low).Reversed()))
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(0, 0, high - low)).Shape()


def _wire(contour: Contour, z: float) -> Any:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Pnt

    wire = BRepBuilderAPI_MakeWire()
    for piece in contour.pieces:
        a, b = (gp_Pnt(float(p[0]), float(p[1]), z) for p in (piece.start, piece.end))
        if a.Distance(b) < SAME_POINT_MM / 10:
            continue
        if piece.middle is None:
            edge = BRepBuilderAPI_MakeEdge(a, b).Edge()
        else:
            middle = gp_Pnt(float(piece.middle[0]), float(piece.middle[1]), z)
            edge = BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(a, middle, b).Value()).Edge()
        wire.Add(edge)
    return wire.Wire()


def turned(profile: Contour) -> Shape:
    """The solid of a section in x (radius) and y (axis) turned once around the y axis."""
    _need()
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    face = BRepBuilderAPI_MakeFace(_wire(profile, 0.0)).Face()
    return BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 1, 0))).Shape()


def cylinder(start: Iterable[float], along: Iterable[float], radius: float, length: float) -> Shape:
    """A round bar from a point along a direction, mm."""
    _need()
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    axis = gp_Ax2(gp_Pnt(*map(float, start)), gp_Dir(*map(float, along)))
    return BRepPrimAPI_MakeCylinder(axis, radius, length).Shape()


def moved(shape: Shape, place: Place) -> Shape:
    """The shape rotated and shifted."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Trsf

    motion = gp_Trsf()
    motion.SetValues(*(float(value) for value in place.ravel()))
    return BRepBuilderAPI_Transform(shape, motion, True).Shape()


def cut(shape: Shape, tools: Sequence[Shape]) -> Shape:
    """The shape less all tools, faces that lie in one surface joined."""
    return _boolean("Cut", shape, tools) if tools else shape


def fuse(shape: Shape, others: Sequence[Shape]) -> Shape:
    """All shapes as one, faces that lie in one surface joined."""
    return _boolean("Fuse", shape, others) if others else shape


def _boolean(kind: str, shape: Shape, others: Sequence[Shape]) -> Shape:
    from OCP import BRepAlgoAPI
    from OCP.collections import List_TopoDS_Shape
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    arguments, tools = List_TopoDS_Shape(), List_TopoDS_Shape()
    arguments.Append(shape)
    for other in others:
        tools.Append(other)
    operation = getattr(BRepAlgoAPI, f"BRepAlgoAPI_{kind}")()
    operation.SetArguments(arguments)
    operation.SetTools(tools)
    operation.Build()
    if not operation.IsDone():
        raise InputError(
            "the solid-modelling kernel could not join two shapes",
            where="solid",
            remedy="Change a size a little: faces that just touch are the usual cause.",
        )
    unify = ShapeUpgrade_UnifySameDomain(operation.Shape(), True, True, False)
    unify.Build()
    return unify.Shape()


def volume(shape: Shape) -> float:
    """Volume, mm³."""
    return float(_properties(shape).Mass())


def centroid(shape: Shape) -> Float[np.ndarray, " 3"]:
    """Centre of the volume, mm."""
    point = _properties(shape).CentreOfMass()
    return np.array([point.X(), point.Y(), point.Z()])


def _properties(shape: Shape) -> Any:
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    return found


def problems(shape: Shape) -> list[str]:
    """What the kernel finds wrong: broken topology, several bodies, faces that cross."""
    from OCP.BOPAlgo import BOPAlgo_ArgumentAnalyzer
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.TopAbs import TopAbs_SOLID

    found = []
    if not BRepCheck_Analyzer(shape).IsValid():
        found.append("the kernel calls the solid invalid")
    bodies = len(list(_parts(shape, TopAbs_SOLID)))
    if bodies != 1:
        found.append(f"{bodies} separate bodies instead of one")
    analyzer = BOPAlgo_ArgumentAnalyzer()
    analyzer.SetShape1(shape)
    analyzer.ArgumentTypeMode = True
    analyzer.SelfInterMode = True
    analyzer.SmallEdgeMode = True
    analyzer.Perform()
    if analyzer.HasFaulty():
        found.append("faces or edges of the solid cross")
    return found


def _parts(shape: Shape, kind: Any) -> Iterable[Any]:
    from OCP.TopExp import TopExp_Explorer

    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def triangles(
    shape: Shape,
) -> tuple[Float[np.ndarray, "vertex 3"], Int[np.ndarray, "triangle 3"]]:
    """Vertices (mm) and outward triangles of the surface, neighbours sharing their vertices."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    BRepMesh_IncrementalMesh(shape, CHORD_MM, False, CHORD_RAD, False)
    points: list[tuple[float, float, float]] = []
    corners: list[tuple[int, int, int]] = []
    for found in _parts(shape, TopAbs_FACE):
        location = TopLoc_Location()
        net = BRep_Tool.Triangulation_s(TopoDS.Face(found), location)
        motion = location.Transformation()
        first = len(points) - 1
        for number in range(1, net.NbNodes() + 1):
            point = net.Node(number).Transformed(motion)
            points.append((point.X(), point.Y(), point.Z()))
        backwards = found.Orientation() == TopAbs_REVERSED
        for number in range(1, net.NbTriangles() + 1):
            a, b, c = net.Triangle(number).Get()
            corners.append(
                (first + a, first + c, first + b)
                if backwards
                else (first + a, first + b, first + c)
            )
    return _merged(np.array(points), np.array(corners))


def _merged(
    points: Float[np.ndarray, "point 3"], corners: Int[np.ndarray, "triangle 3"]
) -> tuple[Float[np.ndarray, "vertex 3"], Int[np.ndarray, "kept 3"]]:
    """One vertex for points that coincide; triangles that lose a corner by it are dropped."""
    _, first, number = np.unique(
        np.round(points / SAME_POINT_MM).astype(np.int64),
        axis=0,
        return_index=True,
        return_inverse=True,
    )
    joined = number.reshape(-1)[corners]
    a, b, c = joined.T
    return points[first], joined[(a != b) & (b != c) & (c != a)]


def _be_quiet() -> None:
    """Keep the kernel from writing its progress on the terminal."""
    from OCP.Message import Message

    messenger = Message.DefaultMessenger_s()
    for printer in list(messenger.Printers()):
        messenger.RemovePrinter(printer)


def write_step(shapes: Sequence[tuple[str, Shape]], path: Path) -> None:
    """Write named solids as STEP AP214, mm, to ``path`` as it stands (see ``exporters.step``).

    Raises
    ------
    StoreError : the kernel cannot write
    """
    _need()
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.Interface import Interface_Static
    from OCP.STEPCAFControl import STEPCAFControl_Writer
    from OCP.TCollection import TCollection_ExtendedString, TCollection_HAsciiString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.XCAFDoc import XCAFDoc_DocumentTool

    _be_quiet()
    document = TDocStd_Document(TCollection_ExtendedString("XmlOcaf"))
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    for name, shape in shapes:
        label = tool.AddShape(shape, False)
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(name))
    writer = STEPCAFControl_Writer()
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    Interface_Static.SetCVal_s("write.step.unit", "MM")
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    writer.Transfer(document)
    header = APIHeaderSection_MakeHeader(writer.ChangeWriter().Model())
    header.SetName(TCollection_HAsciiString(", ".join(name for name, _ in shapes)))
    header.SetOriginatingSystem(TCollection_HAsciiString("fiddlehead"))
    if writer.Write(str(path)).name != "IFSelect_RetDone":
        raise StoreError("the kernel could not write STEP", where=str(path))


def read_step(path: Path) -> Shape:
    """Read a STEP file, mm.

    Raises
    ------
    InputError : it is no STEP file
    """
    _need()
    from OCP.STEPControl import STEPControl_Reader

    _be_quiet()
    reader = STEPControl_Reader()
    if not path.is_file() or reader.ReadFile(str(path)).name != "IFSelect_RetDone":
        raise InputError("not a STEP file", where=str(path))
    reader.TransferRoots()
    return reader.OneShape()
