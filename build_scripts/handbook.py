#!/usr/bin/env python3
"""The handbook's one command: preview, build, test, compute, measure.

Any Python may meet this file first, so it is written in what all of them read.
"""

import os
import sys

if __name__ == "__main__":
    if sys.version_info < (3, 9):
        sys.exit(
            "The handbook's command needs Python 3.9 or later to start, and this is Python %d.%d: "
            "install a current Python 3 and start again with it." % sys.version_info[:2]
        )
    # The folder of this file leaves the search path, so that nothing in it hides a standard module.
    sys.path[0] = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    # Nothing compiled is taken from the checkout: it may have come with it, and nobody can read it.
    sys.pycache_prefix = os.path.join(sys.path[0], ".cache", "compiled")
    from build_scripts.environment.command import main

    sys.exit(main(sys.argv[1:]))
