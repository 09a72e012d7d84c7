#!/usr/bin/env python3
"""The program itself is killed while a person corrects a sheet: the next start offers the work back, and nothing is lost.

kill_test.py ISLEBOOK_DESKTOP ISLEBOOK SHEET [ROUNDS]

Each round, on a virtual X server and by keys alone (xdotool): the sheet is opened, curves are chosen and deleted, given other roles or accepted, until the program is
killed with signal 9 in the midst of it. The next start must offer the work; Ctrl+G takes it up, Ctrl+Return puts the map on the shelf, and the map's recipe
there must hold every correction that was on the disk when the program was killed. Exit code 77 where the tools are missing.
"""
import json, os, random, shutil, signal, subprocess, sys, tempfile, time

PATIENCE = 180.0  # s


def wait_for(what, condition, patience=PATIENCE):
    end = time.monotonic() + patience
    while time.monotonic() < end:
        result = condition()
        if result:
            return result
        time.sleep(0.05)
    sys.exit(f"FAILED: waited {patience:.0f} s for {what}")


class Desk:
    """The program on an X server."""

    def __init__(self, program, folder, display, files):
        self.env = dict(os.environ, DISPLAY=display, QT_QPA_PLATFORM="xcb", HOME=folder, XDG_STATE_HOME=folder + "/state", XDG_CONFIG_HOME=folder + "/config",
                        XDG_DATA_HOME=folder + "/data", XDG_RUNTIME_DIR=folder, USER="tomas", LOGNAME="tomas")
        self.env.pop("ISLEBOOK_SHELF", None)
        self.process = subprocess.Popen([program] + files, env=self.env)
        self.window = wait_for("the window", self.find_window)
        self.xdotool("windowfocus", self.window)

    def find_window(self):
        if self.process.poll() is not None:
            sys.exit(f"FAILED: the program ended by itself with {self.process.returncode}")
        return self.xdotool("search", "--onlyvisible", "--pid", str(self.process.pid), "--name", "Islebook").split("\n")[0]

    def xdotool(self, *arguments):
        return subprocess.run(["xdotool", *arguments], env=self.env, capture_output=True, text=True).stdout

    def key(self, *names):
        self.xdotool("key", "--clearmodifiers", *names)


def work_folders(folder):
    work = folder + "/state/islebook/work"
    return [work + "/" + name for name in (os.listdir(work) if os.path.isdir(work) else []) if os.path.exists(f"{work}/{name}/work.json")]


def corrections(folder):
    """What is on the disk now; None where there is no whole recipe yet. A recipe that is there and cannot be read would be a loss."""
    found = work_folders(folder)
    if not found or not os.path.exists(found[0] + "/recipe.json"):
        return None
    try:
        with open(found[0] + "/recipe.json", encoding="utf-8") as file:
            return json.load(file)["corrections"]
    except FileNotFoundError:
        return None


def round_of_work(program, islebook, sheet, display, dice):
    folder = tempfile.mkdtemp(prefix="islebook-kill-")
    desk = None
    try:
        desk = Desk(program, folder, display, [sheet])

        def first_correction():
            desk.key("Next", "Delete")  # the next curve, and away with it; nothing happens before the sheet is read
            time.sleep(0.3)
            return corrections(folder)

        wait_for("a first correction on the disk", first_correction)
        # Until the kill: more of them, one after the other.
        end = time.monotonic() + dice.uniform(0.1, 1.5)
        while time.monotonic() < end:
            desk.key("Next", dice.choice(["Delete", "o", "a"]))
        os.kill(desk.process.pid, signal.SIGKILL)
        desk.process.wait()
        kept = corrections(folder)
        if not kept:
            sys.exit("FAILED: no work on the disk after the kill")

        # The next start, without any file: the work is offered, taken up by key, and stands on the table with all that was kept.
        before = set(work_folders(folder))
        desk = Desk(program, folder, display, [])

        def taken_up():
            desk.key("ctrl+g")
            now = set(work_folders(folder))
            return now and not now & before

        wait_for("the work to be taken up", taken_up)
        again = wait_for("its recipe", lambda: corrections(folder))
        if again != kept:
            sys.exit(f"FAILED: {len(kept)} corrections were kept, {len(again)} came back")

        def on_the_shelf():
            desk.key("ctrl+Return")
            listed = subprocess.run([islebook, "shelf", "list", "--json"], env=desk.env, capture_output=True, text=True)
            return json.loads(listed.stdout) if listed.returncode == 0 else None

        names = wait_for("the map on the shelf", on_the_shelf)
        shown = subprocess.run([islebook, "export", names[0]["name"], "--document", folder + "/map.json"], env=desk.env, capture_output=True, text=True)
        if shown.returncode not in (0, 4):
            sys.exit("FAILED: " + shown.stderr)
        with open(folder + "/map.json", encoding="utf-8") as file:
            recipe = json.load(file)["recipe"]
        if recipe["corrections"] != kept:
            sys.exit(f"FAILED: the shelf's map has {len(recipe['corrections'])} corrections, {len(kept)} were kept")
        wait_for("the work folder to be cleared", lambda: not work_folders(folder))
        os.kill(desk.process.pid, signal.SIGTERM)
        desk.process.wait()
        return len(kept)
    finally:
        if desk and desk.process.poll() is None:
            desk.process.kill()
        shutil.rmtree(folder, ignore_errors=True)


def main():
    program, islebook, sheet = sys.argv[1:4]
    rounds = int(sys.argv[4]) if len(sys.argv) > 4 else 1
    if not shutil.which("Xvfb") or not shutil.which("xdotool"):
        print("skipped: Xvfb and xdotool are needed")
        sys.exit(77)
    read_end, write_end = os.pipe()
    server = subprocess.Popen(["Xvfb", "-displayfd", str(write_end), "-screen", "0", "1400x900x24", "-nolisten", "tcp", "-noreset"], pass_fds=[write_end],
                              stderr=subprocess.DEVNULL)
    os.close(write_end)
    try:
        display = ":" + os.read(read_end, 16).decode().strip()
        dice = random.Random(7)
        for number in range(rounds):
            kept = round_of_work(program, islebook, sheet, display, dice)
            print(f"round {number + 1}: {kept} corrections kept and brought back", flush=True)
    finally:
        server.terminate()
        server.wait()


main()
