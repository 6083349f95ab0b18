"""Fails if a library that Cargo.lock holds, for any feature or system, says it needs a newer Rust than Cargo.toml promises.

Reads what `cargo metadata` prints.
"""

import json
import sys


def number(version):
    parts = [int(part) for part in version.split(".")]
    return parts + [0] * (3 - len(parts))


packages = json.load(sys.stdin)["packages"]
promised = next(package["rust_version"] for package in packages if package["source"] is None)
said = [package for package in packages if package["rust_version"]]
newer = [package for package in said if number(package["rust_version"]) > number(promised)]
for package in newer:
    print("{name} {version} needs Rust {rust_version}".format(**package), end=f", Cargo.toml promises {promised}\n")
print(f"{len(packages)} packages: {len(said)} say which Rust they need, {len(newer)} a newer one than {promised}")
sys.exit(bool(newer))
