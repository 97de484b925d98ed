#!/usr/bin/env python3
"""Writes the licences of all packages that go into the program, each text once.

    python3 scripts/third-party-licences.py FILE

Whoever hands the program on lays FILE beside it. It is made from the sources that cargo has at hand
and is not kept in the repository, as it is large and changes with every dependency.
"""

import json
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
TEXTS = re.compile(r"(un)?licen[cs]e|copying|copyright|notice|[ou]fl", re.IGNORECASE)
ENDINGS = {"", ".txt", ".md", ".apache", ".mit", ".apache2"}


def cargo(*arguments):
    command = ["cargo", *arguments, "--locked", "--offline"]
    return subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True).stdout


def in_program():
    """Name and version of each package that is linked into the program on this system."""
    tree = cargo("tree", "--package", "holdtrace", "--edges", "normal", "--prefix", "none")
    return {tuple(line.split()[:2]) for line in tree.splitlines() if line.strip()}


def texts(folder):
    """The licence texts of a package, those of fonts and the like within it included."""
    for path in sorted(folder.rglob("*")):
        is_text = TEXTS.match(path.name) and path.suffix.lower() in ENDINGS
        if is_text or path.stem.lower().startswith(("license-", "licence-")):
            if path.is_file() and path.suffix != ".rs":
                yield path.read_text(encoding="utf-8", errors="replace").strip() + "\n"


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    host = re.search(r"host: (\S+)", cargo_version()).group(1)
    metadata = json.loads(
        cargo("metadata", "--format-version", "1", "--filter-platform", host)
    )
    wanted = in_program()
    users, without, packages = {}, [], []
    for package in sorted(metadata["packages"], key=lambda one: (one["name"], one["version"])):
        name = f"{package['name']} {package['version']}"
        if package["source"] is None or (package["name"], f"v{package['version']}") not in wanted:
            continue
        packages.append(f"{name}: {package['license'] or 'see its licence file'}")
        found = list(texts(pathlib.Path(package["manifest_path"]).parent))
        for text in found:
            users.setdefault(text, []).append(name)
        if not found:
            without.append(f"{name}: {package['license']}, {package['repository']}")
    if not packages:
        sys.exit("no package was found; run cargo build first")
    rule = "\n" + "=" * 80 + "\n"
    parts = ["Holdtrace holds these packages of others.\n\n" + "\n".join(packages) + "\n"]
    for text, names in users.items():
        parts.append("\n".join(dict.fromkeys(names)) + "\n\n" + text)
    if without:
        parts.append(
            "These packages come without the text of their licence. It is the text that is known\n"
            "by the name given here; the copyright is that of the authors named in the repository.\n\n"
            + "\n".join(without)
            + "\n"
        )
    pathlib.Path(sys.argv[1]).write_text(rule.join(parts), encoding="utf-8")
    print(f"{sys.argv[1]}: {len(packages)} packages, {len(users)} texts, {len(without)} without one")


def cargo_version():
    return subprocess.run(
        ["rustc", "--version", "--verbose"], check=True, stdout=subprocess.PIPE, text=True
    ).stdout


if __name__ == "__main__":
    main()
