"""The bill of materials, for programs: CycloneDX, the same bytes for the same files."""

import json
from collections.abc import Mapping, Sequence
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from build_scripts.materials.components import Component

BILL = "bill.cdx.json"
LIBRARY = "cyclonedx-python-lib"
_KEPT_BILLS = 20
"""Small files, one for each edition of each release; those of former ones are forgotten."""

type Holding = Sequence[tuple[Component, Sequence[str]]]
"""Components, each with the published files that hold it."""


def make_bill(holding: Holding, hashes: Mapping[str, str], cache: Path) -> str:
    """Return the bill of these components, made now or taken from the folder `cache`.

    `hashes` has the SHA-256 of the files that are known by one.
    """
    asked = [Path(__file__).read_text("utf-8"), version(LIBRARY), holding, sorted(hashes.items())]
    kept = cache / f"{sha256(repr(asked).encode()).hexdigest()}.json"
    if not kept.is_file():
        cache.mkdir(parents=True, exist_ok=True)
        former = sorted(cache.glob("*.json"), key=lambda path: path.stat().st_mtime, reverse=True)
        for path in former[_KEPT_BILLS - 1 :]:
            path.unlink(missing_ok=True)
        unfinished = kept.with_suffix(".unfinished")
        unfinished.write_text(_write_bill(holding, hashes), "utf-8", newline="\n")
        unfinished.replace(kept)
    return kept.read_text("utf-8")


def _write_bill(holding: Holding, hashes: Mapping[str, str]) -> str:
    # Imported late: reading the library takes as long as writing several pages.
    from cyclonedx.model import HashAlgorithm, HashType
    from cyclonedx.model.bom import Bom
    from cyclonedx.model.component import Component as Part
    from cyclonedx.model.component import ComponentType
    from cyclonedx.model.component_evidence import ComponentEvidence, Occurrence
    from cyclonedx.model.license import DisjunctiveLicense, LicenseExpression
    from cyclonedx.output.json import JsonV1Dot6
    from packageurl import PackageURL

    bill = Bom()
    handbook = Part(name="handbook", type=ComponentType.APPLICATION, bom_ref="handbook")
    bill.metadata.component = handbook
    parts = []
    for component, files in holding:
        purl = PackageURL.from_string(component.purl)
        several = " " in component.licence
        parts.append(
            Part(
                name=component.name,
                version=component.version or None,
                bom_ref=component.purl,
                description=component.purpose,
                purl=purl._replace(version=component.version) if component.version else purl,
                licenses=[
                    LicenseExpression(component.licence)
                    if several
                    else DisjunctiveLicense(id=component.licence)
                ],
                evidence=ComponentEvidence(
                    occurrences=[
                        Occurrence(bom_ref=f"{component.purl}#{name}", location=name) for name in files
                    ]
                ),
            )
        )
    for name, digest in sorted(hashes.items()):
        hashed = HashType(alg=HashAlgorithm.SHA_256, content=digest)
        parts.append(Part(name=name, type=ComponentType.FILE, bom_ref=name, hashes=[hashed]))
    for part in parts:
        bill.components.add(part)
    bill.register_dependency(handbook, parts)
    written = json.loads(JsonV1Dot6(bill).output_as_string())
    # What is made of the same files is the same bill, whenever and wherever.
    del written["serialNumber"], written["metadata"]["timestamp"]
    return json.dumps(written, indent=1, ensure_ascii=False, sort_keys=True) + "\n"
