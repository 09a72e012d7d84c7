#!/usr/bin/env python3
"""A validator of bags, from RFC 8493 alone and with the standard library alone: it shares nothing with the program.

Usage: validate_bag.py FILE.zip...     exit code 0: every one holds one complete and valid bag (RFC 8493, sections 3 and 4)
"""
import hashlib
import posixpath
import re
import sys
import zipfile


def fail(message):
    raise ValueError(message)


def lines_of(data):
    return [line for line in re.split("\r\n|\r|\n", data.decode("utf-8")) if line]


def manifest_of(data, name):
    entries = {}
    for line in lines_of(data):
        match = re.fullmatch(r"([0-9A-Fa-f]+)[ \t]+\*?(.+)", line) or fail(f"{name}: not a line of a manifest: {line!r}")
        path = re.sub("%0[Aa]", "\n", re.sub("%0[Dd]", "\r", match.group(2))).replace("%25", "%")
        if path.startswith(("/", "~")) or ".." in path.split("/"):
            fail(f"{name}: a path that leads out: {path!r}")
        if posixpath.normpath(path) in entries:
            fail(f"{name}: {path!r} is listed twice")
        entries[posixpath.normpath(path)] = match.group(1).lower()
    return entries


def validate(file):
    with zipfile.ZipFile(file) as archive:
        names = [name for name in archive.namelist() if not name.endswith("/")]
        if len(set(names)) != len(names):
            fail("a name stands there twice")
        if archive.testzip() is not None:
            fail("a checksum of the ZIP is wrong")
        files = {name: archive.read(name) for name in names}
    bases = {name.split("/", 1)[0] for name in files}
    if len(bases) != 1 or any("/" not in name for name in files):
        fail("section 4: not exactly one folder at the top")
    base = bases.pop()
    files = {name[len(base) + 1:]: data for name, data in files.items()}

    # Section 2.1.1
    if not re.fullmatch(rb"BagIt-Version: \d+\.\d+\r?\nTag-File-Character-Encoding: UTF-8(\r?\n)?", files["bagit.txt"]):
        fail("bagit.txt is not the declaration")
    payload = {name for name in files if name.startswith("data/")}
    manifests = [name for name in files if re.fullmatch(r"manifest-\w+\.txt", name)]
    if not manifests:
        fail("no payload manifest")
    for name in manifests:
        algorithm = name[len("manifest-"):-len(".txt")]
        entries = manifest_of(files[name], name)
        if set(entries) != payload:
            fail(f"{name} and the payload differ: {sorted(set(entries) ^ payload)[:3]}")
        for path, digest in entries.items():
            if hashlib.new(algorithm, files[path]).hexdigest() != digest:
                fail(f"{name}: {path} has another hash")
    # Section 2.2.1
    for name in [name for name in files if re.fullmatch(r"tagmanifest-\w+\.txt", name)]:
        algorithm = name[len("tagmanifest-"):-len(".txt")]
        entries = manifest_of(files[name], name)
        for path, digest in entries.items():
            if path.startswith("tagmanifest-") or path.startswith("data/"):
                fail(f"{name} lists {path}, which it must not")
            if hashlib.new(algorithm, files[path]).hexdigest() != digest:
                fail(f"{name}: {path} has another hash")
        for manifest in manifests:
            if manifest not in entries:
                fail(f"{name} does not list {manifest}")
        rest = {path for path in files if not path.startswith(("data/", "tagmanifest-"))}
        if set(entries) != rest:
            fail(f"{name} should list every other tag file, and leaves out {sorted(rest - set(entries))}")
    # Section 2.2.2
    if "bag-info.txt" in files:
        for line in lines_of(files["bag-info.txt"]):
            if not re.match(r"[^:\s][^:]*:\s|\s", line):
                fail(f"bag-info.txt: not a label and a value: {line!r}")
            if line.startswith("Payload-Oxum:"):
                octets, streams = line.split(":")[1].strip().split(".")
                if int(octets) != sum(len(files[path]) for path in payload) or int(streams) != len(payload):
                    fail("Payload-Oxum is not the payload's")
    if "fetch.txt" in files:
        fail("not complete: files are to be fetched")
    return len(payload)


def main(arguments):
    bad = 0
    for file in arguments:
        try:
            print(f"{file}: valid, {validate(file)} payload files")
        except (ValueError, KeyError, zipfile.BadZipFile) as error:
            print(f"{file}: not valid: {error}")
            bad += 1
    return 1 if bad or not arguments else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
