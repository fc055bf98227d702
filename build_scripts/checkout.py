"""Where this checkout is, and what it keeps between builds."""

from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
CACHE = ROOT / ".cache"
RELEASES = "runtime"
"""Where releases of the runtime are made in a cache …"""
BILLS = "bills"
"""… and where bills of materials are kept."""
