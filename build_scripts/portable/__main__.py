"""The verb `pack`: python3 build_scripts/handbook.py pack [--out FOLDER]."""

import os
import sys
from collections.abc import Sequence

from build_scripts.checkout import ROOT
from build_scripts.environment.command import INTERRUPTED
from build_scripts.environment.options import make_parser
from build_scripts.environment.progress import Progress
from build_scripts.errors import BuildError
from build_scripts.portable.pack import Packed, pack_handbook


def main(arguments: Sequence[str]) -> int:
    """Pack the handbook and say where it is and how large; returns the exit code."""
    out = (make_parser().parse_args(arguments).out or ROOT / "portable").resolve()
    try:
        print(describe(pack_handbook(out, Progress())))
    except BuildError as error:
        print(error, file=sys.stderr)
        return 1
    except OSError as error:
        print(f"The portable edition could not be written: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped. What was packed before is as it was.", file=sys.stderr)
        return INTERRUPTED
    return 0


def describe(packed: Packed) -> str:
    """Say in three lines what was made, how large it is, and the SHA-256 of the ZIP."""
    index = os.path.relpath(packed.folder / "index.html")
    return (
        f"{os.path.relpath(packed.archive)}: {packed.packed / 1e6:.1f} MB, "
        f"unpacked {packed.unpacked / 1e6:.1f} MB in {packed.files} files\n"
        f"SHA-256 {packed.sha256}\n"
        f"The same as a folder: open {index} by a double click"
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
