"""What makes an edition portable: pages by their file names, scripts that carry what nothing can fetch.

A page opened from a folder may load scripts and pictures beside it, but fetch nothing, and make no worker
from an address. So one script carries the runtime's release, and carried.js makes workers of it. The search's
index is a script as well, and so is the list of all pages.
"""

import shutil
from pathlib import Path

from build_scripts.checkout import BILLS
from build_scripts.finding.index import CARRIED_CONTENTS, CARRIED_INDEX, write_search
from build_scripts.lines import settle_line_ends
from build_scripts.materials.page import add_materials
from build_scripts.portable.carrying import CARRIED_SOURCE, carry_release
from build_scripts.release.content_policy import FROM_FOLDER, add_content_policy, read_inline_scripts
from build_scripts.release.kept_proofs import prove_changed_pages
from build_scripts.release.own_scripts import THEME_SCRIPT, add_guard, find_scripts, hold_scripts
from build_scripts.release.pages import open_pages
from build_scripts.release.theme_scripts import delay_theme_scripts
from build_scripts.site.edition import Edition, Parts, fill_pages

CARRYING_SCRIPT = "assets/carried.js"
RELEASE = "release.js"
_UNNEEDED = (
    "404.html",
    "sitemap.xml*",
    "assets/**/*.map",
)
"""What only a host serves, what the carrying scripts hold already, and what is for writers of the theme."""


def finish_portable(site: Path, parts: Parts) -> None:
    """Do what is left when the generator is done: the steps of the portable edition.

    Raises BuildError for a page that is not to be published.
    """
    release = f"runtime/{parts.runtime.hash}/{RELEASE}"
    carry_release(parts.runtime.folder, site / release)
    (site / CARRYING_SCRIPT).write_bytes(settle_line_ends(CARRIED_SOURCE.read_bytes()))
    write_search(site, parts.found, parts.contents, carried=True)
    remove_unneeded(site)
    with open_pages(site) as pages:
        fill_pages(pages, parts.blocks)
        delay_theme_scripts(pages)
        add_materials(pages, site, parts.cache / BILLS)
        scripts = find_scripts(site, (CARRYING_SCRIPT, *parts.scripts, THEME_SCRIPT))
        guard = add_guard(pages, (*scripts, release, CARRIED_INDEX, CARRIED_CONTENTS))
        runner = hold_scripts(pages)
        known = read_inline_scripts(parts.templates, guard, runner)
        add_content_policy(pages, known, scripts, FROM_FOLDER)
        prove_changed_pages(pages, parts.templates, parts.root, parts.cache / "proven-portable.json")


PORTABLE = Edition(
    finish_portable,
    # A folder is no address without a server, and a list of addresses (the site map) of no use.
    settings={"use_directory_urls": False, "site_url": ""},
    scripts={
        "published": "portable",
        "workers": CARRYING_SCRIPT,
        "carried": f"{{runtime}}/{RELEASE}",
        "index": CARRIED_INDEX,
        "contents": CARRIED_CONTENTS,
    },
)


def remove_unneeded(site: Path) -> None:
    """Remove what no page of this edition asks for."""
    for pattern in _UNNEEDED:
        for path in list(site.glob(pattern)):
            if path.is_dir():
                shutil.rmtree(path)
            else:
                path.unlink()
