"""A virtual display of its own, with a window manager, and what is to be seen on it."""

import mmap
import os
import pathlib
import shutil
import struct
import subprocess
import time

# What the display, the keys and the pictures need, and what the window loads when it opens (Debian's names).
PACKAGES = [
    "xvfb", "xdotool", "imagemagick", "openbox",
    "libegl1", "libgl1-mesa-dri", "libxcursor1", "libxi6", "libxkbcommon-x11-0",
]


class Failure(Exception):
    """A sentence: what was waited for or checked, and did not come true."""


def install():
    """Installs what is missing."""
    missing = [p for p in PACKAGES if not is_installed(p)]
    if missing:
        print("installing " + " ".join(missing), flush=True)
        environment = dict(os.environ, DEBIAN_FRONTEND="noninteractive")
        for command in (["update", "-q"], ["install", "-q", "-y", "--no-install-recommends", *missing]):
            subprocess.run(["apt-get", *command], check=True, env=environment,
                           stdout=subprocess.DEVNULL)


def is_installed(package):
    """Whether the system has a package."""
    asked = subprocess.run(["dpkg-query", "-W", "-f", "${Status}", package],
                           capture_output=True, text=True, check=False)
    return asked.stdout.endswith("installed") and "not-" not in asked.stdout


def wait(what, holds, seconds=60.0, every=0.02):
    """Waits until something holds, and gives what it gave."""
    end = time.monotonic() + seconds
    while True:
        found = holds()
        if found:
            return found
        if time.monotonic() > end:
            raise Failure(f"{what}: not within {seconds:.0f} s")
        time.sleep(every)


class Display:
    """A display with a window manager. What is drawn on it is read from its own memory."""

    def __init__(self, size, work):
        self.size = size
        self.work = pathlib.Path(work)
        self.running = []
        self.pixels = None
        self.environment = {}

    def __enter__(self):
        try:
            self.start()
        except BaseException:
            self.__exit__()
            raise
        return self

    def start(self):
        """Starts the server on a number that is free, then the window manager."""
        memory = self.work / "memory"
        home = self.work / "manager"
        passing = self.work / "passing"
        for folder in (memory, home, passing):
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir(parents=True)
        passing.chmod(0o700)
        reads, writes = os.pipe()
        width, height = self.size
        self.start_program(["Xvfb", "-displayfd", str(writes), "-fbdir", str(memory), "-screen", "0",
                            f"{width}x{height}x24", "-nolisten", "tcp"], dict(os.environ), [writes])
        os.close(writes)
        with os.fdopen(reads) as told:
            number = told.readline().strip()
        if not number:
            raise Failure("Xvfb does not start: see " + str(self.work / "Xvfb.log"))
        keep = {k: os.environ[k] for k in ("PATH", "LANG", "LD_LIBRARY_PATH") if k in os.environ}
        self.environment = dict(keep, DISPLAY=":" + number, LIBGL_ALWAYS_SOFTWARE="1",
                                XDG_RUNTIME_DIR=str(passing))
        with open(memory / "Xvfb_screen0", "rb") as file:
            self.pixels = mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
        self.start_program(["openbox"], dict(self.environment, HOME=str(home)), [])
        wait("the window manager", self.is_managed)

    def is_managed(self):
        """Whether there is a window manager: only with one are desktops known."""
        done = subprocess.run(["xdotool", "get_num_desktops"], env=self.environment,
                              capture_output=True, text=True, check=False)
        return done.returncode == 0 and done.stdout.strip().isdigit()

    def start_program(self, command, environment, descriptors):
        """Starts a program that ends with the display."""
        with open(self.work / f"{command[0]}.log", "w", encoding="utf-8") as log:
            self.running.append(subprocess.Popen(command, env=environment, pass_fds=descriptors,
                                                 stdout=log, stderr=log, stdin=subprocess.DEVNULL))

    def __exit__(self, *_):
        for process in reversed(self.running):
            process.terminate()
        for process in self.running:
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()

    def run(self, *command):
        """Runs a command on the display and gives what it printed."""
        done = subprocess.run(command, env=self.environment, capture_output=True, text=True, check=False)
        return done.stdout

    def seen(self, left, top, right, bottom):
        """What is drawn in a rectangle, row by row, four bytes a pixel (the format is X11's XWD)."""
        head = struct.unpack(">25I", self.pixels[:100])
        start, row = head[0] + 12 * head[19], head[12]
        left, right = max(0, left), min(right, self.size[0])
        top, bottom = max(0, top), min(bottom, self.size[1])
        return b"".join(self.pixels[start + y * row + 4 * left:start + y * row + 4 * right]
                        for y in range(top, bottom))

    def picture(self, path, window="root"):
        """Takes a picture and fails if it is blank: it has many colours, and they are far apart."""
        path.parent.mkdir(parents=True, exist_ok=True)
        subprocess.run(["import", "-silent", "-window", str(window), str(path)], env=self.environment,
                       check=True)
        told = self.run("convert", str(path), "-format", "%k %[fx:standard_deviation] %w %h", "info:")
        colours, spread, width, height = told.split()
        said = f"{path.name}: {width}x{height}, {colours} colours, spread {float(spread):.3f}"
        if int(colours) < 64 or float(spread) < 0.02:
            raise Failure("blank picture " + said)
        return said
