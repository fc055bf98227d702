"""The edition that a host serves: what is done when the generator has written the pages."""

import os
import shutil
from pathlib import Path

from build_scripts.checkout import BILLS
from build_scripts.finding.index import write_search
from build_scripts.generator import INSTALLED, OFF
from build_scripts.materials.page import add_materials
from build_scripts.offline.saved_release import WORKER, write_retired_worker, write_service_worker
from build_scripts.release.content_policy import add_content_policy, read_inline_scripts
from build_scripts.release.host_headers import write_header_files
from build_scripts.release.kept_proofs import prove_changed_pages
from build_scripts.release.own_scripts import THEME_SCRIPT, add_guard, find_scripts
from build_scripts.release.pages import open_pages
from build_scripts.release.theme_scripts import delay_theme_scripts
from build_scripts.site.edition import Edition, Parts, fill_pages

WORKERS = ("runtime/*/files.js", "runtime/*/worker.js")
"""What workers are made of where a host serves the pages."""


def finish_site(site: Path, parts: Parts) -> None:
    """Do what is left when the generator is done: the steps of the edition that a host serves.

    Raises BuildError for a page that is not to be published.
    """
    copy_runtime(parts.runtime.folder, site / "runtime" / parts.runtime.hash)
    write_search(site, parts.found, parts.contents)
    with open_pages(site) as pages:
        fill_pages(pages, parts.blocks)
        delay_theme_scripts(pages)
        add_materials(pages, site, parts.cache / BILLS, [WORKER] if parts.installed else [])
        scripts = find_scripts(site, (*parts.scripts, THEME_SCRIPT))
        guard = add_guard(pages, (*scripts, *find_scripts(site, WORKERS), WORKER))
        add_content_policy(pages, read_inline_scripts(parts.templates, guard), scripts)
        prove_changed_pages(pages, parts.templates, parts.root, parts.cache / "proven-served.json")
    write_header_files(site)
    # Last of all: the service worker lists the files as they are when they are published.
    if parts.installed:
        write_service_worker(site, Path(os.environ["HANDBOOK_NODE_MODULES"]))
    else:
        write_retired_worker(site)


def copy_runtime(release: Path, folder: Path) -> None:
    """Put the runtime's files into the site: copies, so that whoever changes one there changes no other."""
    shutil.copytree(release, folder, copy_function=shutil.copyfile)


SERVED = Edition(finish_site)
EDITIONS = {
    None: SERVED,
    True: Edition(finish_site, scripts={"published": INSTALLED}),
    False: Edition(finish_site, scripts={"published": OFF}),
}
"""By whether readers' browsers are to save it; None: as mkdocs.yml says."""
