#!/usr/bin/env python3
"""What shelf_scale measures, of a shelf on a private PostgreSQL server that starts for it and goes away afterwards.

Usage: server_scale.py SHELF_SCALE [MAPS [REVISIONS]]       SHELF_SCALE is the built program; exit code 77 where no server is installed
"""
import os
import subprocess
import sys

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from private_server import PrivateServer


def main():
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    try:
        server = PrivateServer()
    except FileNotFoundError as missing:
        print(missing, file=sys.stderr)
        return 77
    with server:
        server.sql("CREATE DATABASE scale TEMPLATE template0 ENCODING 'UTF8'")
        code = subprocess.run([sys.argv[1], server.url("scale"), *sys.argv[2:]], check=False).returncode
        size = int(server.sql("SELECT pg_database_size('scale')"))
        print(f"the database holds {size / 1e6:.1f} MB")
    return code


if __name__ == "__main__":
    sys.exit(main())
