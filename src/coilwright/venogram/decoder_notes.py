"""What native decoders write to the error channel, caught instead of shown.

They write past Python, to the process's own error channel, and go on with a damaged picture: the
notes are the only sign of it.
"""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager

ERROR_CHANNEL = 2
# Words of the reference JPEG decoder for a stream that it could not follow.
SIGNS_OF_DAMAGE = (b"Corrupt JPEG data", b"Premature end of JPEG")


@contextmanager
def caught_notes() -> Iterator[bytearray]:
    """The notes of a block of decoding, filled in at its end."""
    notes = bytearray()
    try:
        channel = os.dup(ERROR_CHANNEL)
    except OSError:
        # A process without an error channel has nothing to catch.
        yield notes
        return
    try:
        with tempfile.TemporaryFile() as file:
            os.dup2(file.fileno(), ERROR_CHANNEL)
            try:
                yield notes
            finally:
                os.dup2(channel, ERROR_CHANNEL)
                file.seek(0)
                notes.extend(file.read())
    finally:
        os.close(channel)


def tell_of_damage(notes: bytearray) -> bool:
    """Whether a decoder says that it could not follow its stream."""
    return any(sign in notes for sign in SIGNS_OF_DAMAGE)
