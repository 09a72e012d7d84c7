#!/usr/bin/env python3
"""A PostgreSQL server of one's own, in a folder that goes away: for tests of shelves on a server.

Usage: private_server.py        Prints the folder of its socket once it is ready, and stops when its standard input is closed.
                                Exit code 77, with a sentence on standard error, where no server is installed.

The user `shop` may do everything and needs no password; `guest` needs one. As root, the server runs as nobody, because it refuses to run as root.
"""
import contextlib
import ctypes
import glob
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time

NOBODY = 65534
NOT_INSTALLED = "no PostgreSQL server is installed here (Debian package postgresql-15), so shelves on a server are not tested."


def programs():
    """The folder with initdb, postgres and their like, of the latest version; None if there is none."""
    folders = glob.glob("/usr/lib/postgresql/*/bin")
    found = shutil.which("initdb")
    if found:
        folders.append(os.path.dirname(os.path.realpath(found)))
    whole = [folder for folder in folders if all(os.path.exists(os.path.join(folder, name)) for name in ("initdb", "postgres", "pg_isready", "psql"))]
    return max(whole, key=lambda folder: int((re.search(r"/(\d+)/bin", folder) or [0, 0])[1]), default=None)


class PrivateServer:
    """A context: `folder` is where its socket is."""

    def __init__(self):
        self.bin = programs()
        if self.bin is None:
            raise FileNotFoundError(NOT_INSTALLED)
        self.folder = tempfile.mkdtemp(prefix="islebook-server-")
        self.who = {"user": NOBODY, "group": NOBODY, "extra_groups": []} if os.geteuid() == 0 else {}
        if self.who:
            os.chown(self.folder, NOBODY, NOBODY)
        os.chmod(self.folder, 0o755)
        self.process = None
        try:
            self._start()
        except BaseException:
            self.close()
            raise

    def _start(self):
        data = os.path.join(self.folder, "data")
        environment = {"PATH": os.environ.get("PATH", ""), "LC_ALL": "C", "HOME": self.folder}
        subprocess.run([os.path.join(self.bin, "initdb"), "-D", data, "-U", "shop", "-E", "UTF8", "--locale=C", "--auth=trust", "--no-sync", "--no-instructions"],
                       check=True, cwd=self.folder, env=environment, stdout=subprocess.DEVNULL, **self.who)
        with open(os.path.join(data, "pg_hba.conf"), "w", encoding="utf-8") as file:
            file.write("local all guest scram-sha-256\nlocal all all trust\n")

        def dies_with_us():
            ctypes.CDLL(None).prctl(1, signal.SIGQUIT)  # PR_SET_PDEATHSIG; lost when the user changes, so asked for after that

        with open(os.path.join(self.folder, "log"), "w", encoding="utf-8") as log:
            self.process = subprocess.Popen([os.path.join(self.bin, "postgres"), "-D", data, "-k", self.folder, "-c", "listen_addresses="], cwd=self.folder,
                                            env=environment, stdin=subprocess.DEVNULL, stdout=log, stderr=log, preexec_fn=dies_with_us, **self.who)
        for _ in range(600):
            if self.process.poll() is not None:
                break
            ready = subprocess.run([os.path.join(self.bin, "pg_isready"), "-q", "-h", self.folder, "-U", "shop", "-d", "postgres"], check=False)
            if ready.returncode == 0:
                return
            time.sleep(0.05)
        with open(os.path.join(self.folder, "log"), encoding="utf-8", errors="replace") as log:
            raise RuntimeError("the private server did not start: " + log.read()[-2000:])

    def sql(self, command, database="postgres"):
        """Runs a command as shop and returns what it prints."""
        done = subprocess.run([os.path.join(self.bin, "psql"), "-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-h", self.folder, "-U", "shop", "-d", database, "-c", command],
                              check=True, capture_output=True, text=True)
        return done.stdout.strip()

    def url(self, database, user="shop"):
        return f"postgresql://{user}@/{database}?host={self.folder}"

    def close(self):
        if self.process is not None and self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)  # a fast shutdown
            try:
                self.process.wait(timeout=30)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()


def main():
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, lambda *_: sys.exit(1))
    try:
        server = PrivateServer()
    except FileNotFoundError as missing:
        print(missing, file=sys.stderr)
        return 77
    with server, contextlib.suppress(BrokenPipeError):
        print(server.folder, flush=True)
        sys.stdin.buffer.read()
    return 0


if __name__ == "__main__":
    sys.exit(main())
