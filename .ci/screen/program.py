"""The program on a display: started, worked by keys and mouse, watched, ended."""

import json
import pathlib
import signal
import subprocess
import time

from screen.display import Failure, wait

# Of the window, in points at the usual text size: heads.rs, lanes.rs, ribbon.rs.
STAVES_LEFT = 172
LANE = 58.8
BOTTOM_LINE = 36
# The bar for listening above it, on one line.
LISTEN_BAR = 34


class Program:
    """The program with a window."""

    def __init__(self, display, program, home, arguments=(), failed=None):
        self.display = display
        self.failed = failed
        self.home = pathlib.Path(home)
        self.home.mkdir(parents=True, exist_ok=True)
        self.state = self.home / "state"
        environment = dict(display.environment, HOME=str(self.home), XDG_STATE_HOME=str(self.state))
        self.started = time.monotonic()
        self.log = self.home / "told.txt"
        with open(self.log, "a", encoding="utf-8") as log:
            self.process = subprocess.Popen([str(program), *map(str, arguments)], env=environment,
                                            stdout=log, stderr=log, stdin=subprocess.DEVNULL,
                                            cwd=self.home)
        try:
            self.window = wait("a window with the title bandwright", self.find, 60, 0.005)
            self.mapped = time.monotonic() - self.started
            self.left, self.top, self.width, self.height = self.place()
            wait("a first picture", self.is_drawn, 60, 0.002)
            self.drawn = time.monotonic() - self.started
            self.settle_place()
        except BaseException:
            self.end()
            raise

    def __enter__(self):
        return self

    def __exit__(self, kind, *_):
        if kind is not None and self.process.poll() is None and self.failed is not None:
            self.display.run("import", "-silent", "-window", "root", str(self.failed))
        self.end()

    def end(self):
        """Ends the program if it still runs."""
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait()

    def runs(self):
        """Fails if the program has ended."""
        if self.process.poll() is not None:
            told = self.log.read_text(encoding="utf-8")
            raise Failure(f"the program has ended with status {self.process.returncode}: {told}")
        return True

    def find(self):
        """The number of the window once it is on the display."""
        self.runs()
        found = self.display.run("xdotool", "search", "--onlyvisible", "--name", "^bandwright$").split()
        return found[0] if found else None

    def place(self):
        """Where the window is on the display: left, top, width, height."""
        def rows(*command):
            return dict(row.split("=") for row in self.display.run("xdotool", *command).split())
        size = rows("getwindowgeometry", "--shell", self.window)
        # The place that is told counts the frame twice; where the pointer comes to is right.
        corner = rows("mousemove", "--window", self.window, "0", "0", "getmouselocation", "--shell")
        return (int(corner["X"]), int(corner["Y"]), int(size["WIDTH"]), int(size["HEIGHT"]))

    def settle_place(self):
        """Takes the focus, and waits until the window manager has put the window where it stays."""
        self.display.run("xdotool", "windowactivate", "--sync", self.window)
        before, since = self.place(), time.monotonic()
        while time.monotonic() - since < 0.5:
            time.sleep(0.05)
            if (now := self.place()) != before:
                before, since = now, time.monotonic()
        self.left, self.top, self.width, self.height = before

    def is_drawn(self):
        """Whether there is something in the window: more colours than a ground has."""
        self.runs()
        pixels = self.seen(0, 0, self.width, 200)
        return len({pixels[i:i + 4] for i in range(0, len(pixels), 4 * 37)}) > 8

    def seen(self, left, top, right, bottom):
        """What is drawn in a rectangle of the window."""
        return self.display.seen(self.left + left, self.top + top, self.left + right, self.top + bottom)

    def middle(self):
        """What is drawn where questions are asked."""
        x, y = self.width // 2, self.height // 2 - 40
        return self.seen(x - 240, y - 60, x + 240, y + 60)

    def bottom(self):
        """What is drawn in the bottom line, where the program tells what it did."""
        y = min(self.height, self.display.size[1] - self.top)
        return self.seen(0, y - BOTTOM_LINE, self.width, y)

    def solve_button(self):
        """The ground of the one large button, at the right above the bar for listening: pale while a solve runs."""
        x, y = self.width - 30, self.height - 70 - LISTEN_BAR
        return self.seen(x, y, x + 1, y + 1)

    def still(self, seconds=0.25, most=20.0):
        """Waits until nothing moves in the window; a caret that blinks is left out."""
        def look():
            return self.seen(0, 0, self.width, self.height)
        end = time.monotonic() + most
        before, since = look(), time.monotonic()
        while time.monotonic() < end:
            self.runs()
            time.sleep(0.04)
            now = look()
            if now != before:
                before, since = now, time.monotonic()
            elif time.monotonic() - since >= seconds:
                return
        raise Failure(f"the window does not come to rest within {most:.0f} s")

    def key(self, *keys):
        """Presses keys, one after the other."""
        for key in keys:
            self.runs()
            self.display.run("xdotool", "key", "--clearmodifiers", key)
            time.sleep(0.06)

    def point(self, x, y, *then):
        """Moves the pointer to a place in the window and does something there."""
        self.runs()
        self.display.run("xdotool", "mousemove", str(self.left + x), str(self.top + y))
        self.still(0.1)
        for command in then:
            self.display.run("xdotool", *command.split())
            time.sleep(0.06)

    def drag(self, start, end):
        """Drags from a place to another, in steps as a hand does."""
        self.point(*start, "mousedown 1")
        for step in range(1, 9):
            x, y = (a + (b - a) * step // 8 for a, b in zip(start, end))
            self.display.run("xdotool", "mousemove", str(self.left + x), str(self.top + y))
            time.sleep(0.03)
        self.display.run("xdotool", "mouseup", "1")

    def to_the_top(self):
        """Turns the wheel until the first lane is seen."""
        self.point(STAVES_LEFT + 300, self.height // 2, "click --repeat 60 --delay 8 4")
        self.still()

    def lane(self, number):
        """The upper edge of a lane that is seen: below the ribbon the grounds of the lanes begin."""
        x = STAVES_LEFT + 3
        column = self.seen(x, 0, x + 1, self.height)
        rows = [column[i:i + 4] for i in range(0, len(column), 4)]
        paper = rows[BOTTOM_LINE + 60]
        for y in range(150, self.height):
            if rows[y] != paper and rows[y:y + 8].count(rows[y]) == 8:
                return round(y + LANE * number)
        raise Failure("there are no staves in the window")

    def panel(self):
        """What is drawn in the panel at the right, above its button."""
        return self.seen(self.width - 300, 220, self.width, self.height - 120 - LISTEN_BAR)

    def told(self, what, act, seconds=60):
        """Does something and waits until the bottom line tells of it."""
        before = self.bottom()
        act()
        wait(what, lambda: self.runs() and self.bottom() != before, seconds)
        self.still()

    def solved(self, what, *keys):
        """Presses keys that start a solve, and waits for its answer."""
        self.still()
        before, ready = self.bottom(), self.solve_button()
        self.key(*keys)
        wait(f"{what} begins", lambda: self.runs() and self.bottom() != before, 20, 0.005)
        rest = [time.monotonic()]

        def is_over():
            self.runs()
            if self.solve_button() != ready:
                rest[0] = time.monotonic()
            return time.monotonic() - rest[0] > 0.4

        wait(f"{what} ends", is_over, 180)
        self.still()

    def asked(self, what, key, path):
        """Presses a key that asks for a path, and types it."""
        self.still()
        before = self.middle()
        self.key(key)
        wait(f"{what}: the question", lambda: self.runs() and self.middle() != before, 20)
        self.still()
        self.key("ctrl+a")
        self.display.run("xdotool", "type", "--delay", "12", str(path))
        self.still()
        self.told(what, lambda: self.key("Return"))

    def wrote(self, what, path):
        """Waits for a file that the program writes whole."""
        wait(f"{what}: {path.name}", lambda: self.runs() and path.exists(), 30)
        return path

    def steps(self):
        """What the journals say was done since the last save, by name."""
        journals = [*self.state.rglob("*.journal"), *self.home.rglob(".*.journal")]
        names = []
        for journal in journals:
            for line in journal.read_bytes().split(b"\n"):
                try:
                    entry = json.loads(line).get("entry", {})
                except ValueError:
                    continue
                if isinstance(entry, dict) and "change" in entry:
                    names.append(entry["change"]["name"])
        return names

    def has_step(self, name):
        """Waits until a step whose name begins so is in the journal."""
        def is_there():
            return self.runs() and any(step.startswith(name) for step in self.steps())
        wait(f"the step '{name}'", is_there, 60, 0.05)

    def close(self):
        """Closes the window by its key; there is nothing unsaved, so nothing is asked."""
        self.key("ctrl+q")
        try:
            status = self.process.wait(20)
        except subprocess.TimeoutExpired:
            raise Failure("the program does not close: it asks, or it hangs") from None
        if status != 0:
            raise Failure(f"the program closes with status {status}")

    def kill(self):
        """Ends the program as a crash would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
