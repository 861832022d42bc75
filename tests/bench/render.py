"""Photos of the program's own bent fingers, so that the true angle is known.

A board with fiducials lies in the plane z = 0, the marked side of the finger in a plane in front
of it. Every pixel of the picture looks along its ray (lens distortion included) at the finger
first and at the board behind it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache, lru_cache

import cv2
import numpy as np

from fiddlehead.bench.photos.board import Board, tag_pixels
from fiddlehead.bench.photos.lens import Lens
from fiddlehead.bench.photos.records import Setup
from fiddlehead.bench.photos.virtual import carried_marks
from fiddlehead.report.surface import cut_faces, whole_surface
from fiddlehead.trials.records import BendResult

PER_MM = 8.0
"""Texture pixels per mm."""
SHEET = (300.0, 200.0)
"""Drawn board, mm."""
SIZE = (1920, 1080)
PAPER, BODY, SIDE, BLACK = (244, 244, 240), (176, 138, 92), (205, 166, 112), (20, 20, 22)


@dataclass(frozen=True)
class View:
    """Where the camera is and what it spoils.

    tilt_deg, pan_deg, roll_deg : turns about the picture's horizontal, vertical and viewing axis
    height_mm : of the finger's marked side over the board
    """

    distance_mm: float = 1000.0
    focal_px: float = 6000.0
    tilt_deg: float = 0.0
    pan_deg: float = 0.0
    roll_deg: float = 0.0
    height_mm: float = 15.0
    k1: float = 0.0
    k2: float = 0.0
    blur_px: float = 0.5
    noise: float = 1.5
    shade: float = 0.0
    seed: int = 0
    size: tuple[int, int] = SIZE

    @property
    def lens(self) -> Lens:
        """The lens that takes the picture."""
        wide, high = self.size
        return Lens(
            focal_x=self.focal_px,
            focal_y=self.focal_px,
            centre_x=0.5 * wide,
            centre_y=0.5 * high,
            k1=self.k1,
            k2=self.k2,
        )


@dataclass(frozen=True)
class Scene:
    """What lies before the camera; the root of the finger is at ``root_mm`` of the board."""

    result: BendResult
    setup: Setup
    board: Board = field(default_factory=Board)
    root_mm: tuple[float, float] = (-45.0, 38.0)
    lying_deg: float = 0.0
    other_side: bool = False
    tags: tuple[int, int] | None = None
    with_board: bool = True
    dots: tuple[int, int, int] = BLACK
    hidden: tuple[int, ...] = ()
    false_dots: tuple[tuple[float, float], ...] = ()


def to_texture(points: np.ndarray) -> np.ndarray:
    """Board mm (y up) to texture pixels."""
    return np.stack(
        [(points[..., 0] + SHEET[0] / 2) * PER_MM, (SHEET[1] / 2 - points[..., 1]) * PER_MM], -1
    )


@cache
def board_texture(board: Board) -> np.ndarray:
    """White paper with four fiducials, a little soft."""
    rows, columns = int(SHEET[1] * PER_MM), int(SHEET[0] * PER_MM)
    paper = np.full((rows, columns, 3), PAPER, np.uint8)
    side = round(board.fiducial_mm * PER_MM)
    for number in range(4):
        x, y = to_texture(board.corners_mm(number)[0]).round().astype(int)
        tag = tag_pixels(number, side)
        paper[y : y + side, x : x + side] = np.where(tag[:, :, None] > 0, PAPER, BLACK)
    return cv2.GaussianBlur(paper, (0, 0), 0.7)


def turned(points: np.ndarray, degrees: float) -> np.ndarray:
    """Points turned about the origin, anticlockwise."""
    a = np.radians(degrees)
    return points @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])


def place(scene: Scene, points: np.ndarray) -> np.ndarray:
    """Finger mm to board mm."""
    seen = points * np.array([-1.0, 1.0]) if scene.other_side else points
    return turned(seen, scene.lying_deg) + np.array(scene.root_mm)


def finger_texture(scene: Scene, step: int) -> tuple[np.ndarray, np.ndarray]:
    """The bent finger with its marks, and its coverage 0 to 1."""
    rows, columns = int(SHEET[1] * PER_MM), int(SHEET[0] * PER_MM)
    colour = np.full((rows, columns, 3), BODY, np.uint8)
    cover = np.zeros((rows, columns), np.uint8)
    result = scene.result
    surface = whole_surface(result.mesh)
    points = surface.place(result.mesh.points + result.displacement_mm[step])
    patches, _ = cut_faces(surface, points, np.zeros(len(points)), cuts=2)
    order = np.argsort(patches[:, :, 2].mean(1))
    top = patches[:, :, 2].max()
    for patch in patches[order]:
        corners = (16 * to_texture(place(scene, patch[:, :2]))).round().astype(np.int32)
        share = float(np.clip(1.0 - (top - patch[:, 2].mean()) / 8.0, 0.0, 1.0))
        tone = tuple(int(a + share * (b - a)) for a, b in zip(BODY, SIDE, strict=True))
        cv2.fillConvexPoly(colour, corners, tone, cv2.LINE_AA, 4)
        cv2.fillConvexPoly(cover, corners, 255, cv2.LINE_AA, 4)
    if scene.setup.tip[:, 0].max() > result.mesh.points[:, 0].max():
        length, high = result.mesh.points[:, :2].max(0)
        card = np.array([[0.0, -1.0], [5.0, -1.0], [5.0, high + 1.0], [0.0, high + 1.0]])
        corners = carried_marks(result, step, card + np.array([length + 1e-6, 0.0]))
        drawn = (16 * to_texture(place(scene, corners))).round().astype(np.int32)
        cv2.fillConvexPoly(colour, drawn, PAPER, cv2.LINE_AA, 4)
        cv2.fillConvexPoly(cover, drawn, 255, cv2.LINE_AA, 4)
    marks = place(scene, carried_marks(result, step, scene.setup.marks))
    dots = (
        []
        if scene.tags is not None
        else [mark for number, mark in enumerate(marks) if number not in scene.hidden]
    )
    for mark in [*dots, *np.array(scene.false_dots).reshape(-1, 2)]:
        x, y = (16 * to_texture(mark)).round().astype(int)
        radius = int(16 * 0.5 * scene.setup.diameter_mm * PER_MM)
        cv2.circle(colour, (int(x), int(y)), radius, scene.dots, -1, cv2.LINE_AA, 4)
        cv2.circle(cover, (int(x), int(y)), radius, 255, -1, cv2.LINE_AA, 4)
    if scene.tags is not None:
        for number, corners in zip(scene.tags, (marks[:4], marks[-4:]), strict=True):
            _put_tag(colour, cover, number, to_texture(corners))
    soft = [cv2.GaussianBlur(layer, (0, 0), 0.7) for layer in (colour, cover)]
    return soft[0], soft[1].astype(np.float32) / 255.0


def _put_tag(colour: np.ndarray, cover: np.ndarray, number: int, corners: np.ndarray) -> None:
    """A fiducial with a white rim, its corners at texture pixels."""
    tag = np.pad(tag_pixels(number, 60), 10, constant_values=255)
    own = np.array([[10, 10], [70, 10], [70, 70], [10, 70]], np.float32) - 0.5
    to = cv2.getPerspectiveTransform(own, (corners - 0.5).astype(np.float32))
    size = (colour.shape[1], colour.shape[0])
    there = cv2.warpPerspective(np.full_like(tag, 255), to, size) > 0
    colour[there] = cv2.warpPerspective(tag, to, size)[there, None]
    cover[there] = 255


@lru_cache(maxsize=4)
def _maps(view: View) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Texture pixels that each picture pixel sees: of the board's plane, of the finger's."""
    wide, high = view.size
    lens = view.lens
    grid = np.stack(np.meshgrid(np.arange(wide), np.arange(high)), -1).reshape(-1, 2).astype(float)
    straight = lens.undistort(grid) if view.k1 or view.k2 else grid
    rays = np.column_stack(
        [
            (straight[:, 0] - lens.centre_x) / lens.focal_x,
            -(straight[:, 1] - lens.centre_y) / lens.focal_y,
            -np.ones(len(grid)),
        ]
    )
    turn = _turn(view)
    rays = rays @ turn.T
    camera = turn @ np.array([0.0, 0.0, view.distance_mm])
    maps = []
    for height in (0.0, view.height_mm):
        t = (height - camera[2]) / rays[:, 2]
        hit = to_texture(camera[:2] + t[:, None] * rays[:, :2]).astype(np.float32)
        maps.append((hit[:, 0].reshape(high, wide), hit[:, 1].reshape(high, wide)))
    return tuple(maps)


@lru_cache(maxsize=4)
def _ground(board: Board | None, view: View) -> np.ndarray:
    """The board (or a bare table) as the camera sees it without a finger."""
    blank = np.full((int(SHEET[1] * PER_MM), int(SHEET[0] * PER_MM), 3), 225, np.uint8)
    texture = blank if board is None else board_texture(board)
    return cv2.remap(texture, *_maps(view)[0], cv2.INTER_LINEAR).astype(np.float32)


def photograph(scene: Scene, step: int, view: View) -> np.ndarray:
    """The picture, red-green-blue."""
    still = replace(view, blur_px=0.0, noise=0.0, shade=0.0, seed=0)
    ground = _ground(scene.board if scene.with_board else None, still)
    colour, cover = finger_texture(scene, step)
    x, y = _maps(still)[1]
    share = cv2.remap(cover, x, y, cv2.INTER_LINEAR)[:, :, None]
    picture = ground + share * (cv2.remap(colour, x, y, cv2.INTER_LINEAR) - ground)
    if view.shade:
        fall = np.linspace(0.0, view.shade, view.size[0], dtype=np.float32)
        picture *= 1.0 - fall[None, :, None]
    if view.blur_px:
        picture = cv2.GaussianBlur(picture, (0, 0), view.blur_px)
    draw = np.random.default_rng(view.seed)
    noise = draw.standard_normal(picture.shape[:2], dtype=np.float32)[:, :, None]
    return np.clip(picture + np.float32(view.noise) * noise, 0, 255).astype(np.uint8)


def _turn(view: View) -> np.ndarray:
    a, b, c = np.radians([view.tilt_deg, view.pan_deg, view.roll_deg])
    about_x = np.array([[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]])
    about_y = np.array([[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]])
    about_z = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return about_y @ about_x @ about_z
