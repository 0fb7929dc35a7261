"""How a picture is carried by the body's motion: a shift and a slow turn about its middle.

A pose is (x, y, turn): pixels and radians that carry the reference frame onto another frame.
Arrays of poses are (frames, 3). Coordinates about the middle keep a pose valid in a shrunk
picture, but for its shift.
"""

import cv2
import numpy as np
import numpy.typing as npt

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]


def carried(picture: Float, pose: Array, *, interpolation: int = cv2.INTER_CUBIC) -> Float:
    """A picture of the reference frame as it stands in a pose; edges are repeated."""
    return _warped(picture, pose, interpolation)


def carried_back(picture: Float, pose: Array, *, interpolation: int = cv2.INTER_CUBIC) -> Float:
    """A picture taken in a pose, brought back to the reference frame; edges are repeated."""
    return _warped(picture, pose, interpolation | cv2.WARP_INVERSE_MAP)


def shrunk_pose(poses: Array, shrink: float) -> Array:
    """Poses for pictures that are smaller by ``shrink``."""
    return np.asarray(poses / np.array([shrink, shrink, 1.0]))


def from_frame(poses: Array, frame: int) -> Array:
    """The same poses with another frame as their reference; turns are small."""
    shifts, turns = poses[:, :2] - poses[frame, :2], poses[:, 2] - poses[frame, 2]
    cosine, sine = np.cos(turns), np.sin(turns)
    # T_t o T_ref^-1 = R(turn) x + d_t - R(turn) d_ref, about the middle of the picture.
    x, y = poses[frame, :2]
    moved = np.column_stack(
        [poses[:, 0] - (cosine * x - sine * y), poses[:, 1] - (sine * x + cosine * y)]
    )
    return np.column_stack([np.where(turns[:, None] == 0.0, shifts, moved), turns])


def moved_before(poses: Array, corrections: Array) -> Array:
    """Poses of frames of which each first takes a small pose of its own in the reference frame."""
    cosine, sine = np.cos(poses[:, 2]), np.sin(poses[:, 2])
    x, y = corrections[:, 0], corrections[:, 1]
    turned = np.column_stack([cosine * x - sine * y, sine * x + cosine * y])
    return np.column_stack([poses[:, :2] + turned, poses[:, 2] + corrections[:, 2]])


def _warped(picture: Float, pose: Array, flags: int) -> Float:
    if not np.any(pose):
        return picture
    rows, columns = picture.shape
    moved = cv2.warpAffine(
        picture,
        _matrix(pose, rows, columns),
        (columns, rows),
        flags=flags,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(moved, dtype=np.float32)


def _matrix(pose: Array, rows: int, columns: int) -> Array:
    x, y, turn = (float(value) for value in pose)
    middle = np.array([(columns - 1) / 2.0, (rows - 1) / 2.0])
    cosine, sine = np.cos(turn), np.sin(turn)
    rotation = np.array([[cosine, -sine], [sine, cosine]])
    return np.column_stack([rotation, middle + np.array([x, y]) - rotation @ middle])
