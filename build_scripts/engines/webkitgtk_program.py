"""Drives WebKitGTK for engine.py: lines of JSON in, lines of JSON out.

python3 webkitgtk_program.py XVFB PROFILE LIMIT     (the system's Python, 3.9 or later)

It is a small browser of our own, with one window on a screen that nobody sees, because the one that WebKitGTK
brings keeps nothing: under automation (WebKitWebDriver with MiniBrowser 2.50, tried out) each session is a
private one, and after a restart its service workers, caches and localStorage are gone. The library is the one
of every other browser made with it. Scripts are run by its own interface for that. Keys are key events of
the window system, handed to the view as if they came from a keyboard: the page sees them as trusted.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from collections import deque
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

TICK = 10
"""Milliseconds between two looks at whether something has come true."""
START_LIMIT = 20.0
NEWS_LIMIT = 0.1
# Scripts of the program see the page's elements, but not its variables, and the page does not see theirs.
WORLD = "engine"
FOCUS = """
const field = document.querySelector(selector);
if (!field) throw new Error(`there is no ${selector}`);
field.focus();
globalThis.released = 0;
if (!globalThis.counting) addEventListener("keyup", () => { released += 1; }, true);
globalThis.counting = true;
"""


class TaskError(Exception):
    """What was asked could not be done; `gone` says whether the browser is to blame."""

    def __init__(self, words: str, gone: bool = False) -> None:
        self.gone = gone
        super().__init__(words)


def start_screen(xvfb: str, profile: str) -> subprocess.Popen[bytes]:
    """Start a screen that nobody sees and name it to what is started here; it ends with its last window."""
    reading, writing = os.pipe()
    command = [xvfb, "-displayfd", str(writing), "-screen", "0", "1280x1024x24", "-nolisten", "tcp"]
    # The folder is also what tells this screen from others.
    screen = subprocess.Popen([*command, "-terminate", "-fbdir", profile], pass_fds=(writing,))
    os.close(writing)
    with open(reading, encoding="ascii") as file:
        number = file.readline().strip()
    if not number:
        raise SystemExit("Xvfb could not be started")
    os.environ["DISPLAY"] = ":" + number
    os.environ["GDK_BACKEND"] = "x11"
    # Nobody reads this screen aloud, and there may be no message bus to offer it on.
    os.environ["NO_AT_BRIDGE"] = "1"
    for variable in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"):
        os.environ[variable] = os.path.join(profile, variable.lower())
    return screen


class Window:
    """One window with one page; all its waits keep the window alive."""

    def __init__(self, profile: str, limit: float) -> None:
        import gi  # type: ignore[import-not-found]

        gi.require_version("Gdk", "3.0")
        gi.require_version("Gtk", "3.0")
        gi.require_version("WebKit2", "4.1")
        from gi.repository import Gdk, GLib, Gtk, WebKit2  # type: ignore[import-not-found]

        self.gdk, self.glib = Gdk, GLib
        self.limit = limit
        self.ended = ""
        manager = WebKit2.WebsiteDataManager(
            base_data_directory=os.path.join(profile, "data"),
            base_cache_directory=os.path.join(profile, "cache"),
        )
        self.view = WebKit2.WebView(web_context=WebKit2.WebContext(website_data_manager=manager))
        self.view.connect("web-process-terminated", self._note_end)
        self.window = Gtk.Window()
        self.window.set_default_size(1280, 1024)
        self.window.add(self.view)
        self.window.show_all()
        self.window.present()
        self.view.grab_focus()
        GLib.timeout_add(TICK, lambda: True)
        self.wait(self.view.has_focus, START_LIMIT, "have a window with the keyboard")

    def _note_end(self, _view: object, reason: Any) -> None:
        self.ended = f"the page's process ended: {reason.value_nick}"

    def wait(self, is_done: Callable[[], bool], limit: float, what: str) -> None:
        """Keep the window alive until something has come true; raises TaskError when that takes too long."""
        end = time.monotonic() + limit
        while not is_done():
            if self.ended:
                raise TaskError(self.ended)
            if time.monotonic() > end:
                raise TaskError(f"it did not {what} within {limit:g} s", gone=True)
            self.glib.MainContext.default().iteration(True)

    def hear_news(self) -> None:
        """Give what has happened meanwhile the time to be heard of."""
        end = time.monotonic() + NEWS_LIMIT
        while time.monotonic() < end:
            self.glib.MainContext.default().iteration(True)

    def load(self, begin: Callable[[], None]) -> None:
        """Begin to load and wait until that has ended, with the error page if it failed."""
        self.ended = ""
        begin()
        try:
            self.wait(lambda: not self.view.props.is_loading, self.limit, "load")
        except TaskError:
            # It would end at some later time and break into what is asked next.
            self.view.stop_loading()
            raise

    def open(self, address: str) -> None:
        """Go to an address; where the page's process has ended, another one is started for it."""
        self.hear_news()
        try:
            self.load(lambda: self.view.load_uri(address))
            self.hear_news()
        except TaskError:
            if not self.ended:
                raise
        # The end of the process before may be heard of only now.
        if self.ended:
            self.load(lambda: self.view.load_uri(address))

    def reload(self) -> None:
        """Load the page again."""
        self.load(self.view.reload)

    def evaluate(self, script: str, world: str | None = None, **values: str) -> Any:
        """Run the body of an async function and return what it returns."""
        outcome: list[Any] = []

        def finish(view: Any, result: Any) -> None:
            try:
                outcome.append(view.call_async_javascript_function_finish(result))
            except self.glib.Error as error:
                outcome.append(error)

        given = self.glib.Variant("a{sv}", {k: self.glib.Variant("s", v) for k, v in values.items()})
        self.view.call_async_javascript_function(script, -1, given, world, None, None, finish)
        self.wait(lambda: bool(outcome), self.limit, "evaluate")
        if isinstance(outcome[0], self.glib.Error):
            raise TaskError(outcome[0].message)
        return json.loads(outcome[0].to_json(0) or "null")

    def type(self, selector: str, text: str) -> None:
        """Type over what is in a field."""
        gdk = self.gdk
        self.evaluate(FOCUS, WORLD, selector=selector)
        self.press(gdk.KEY_a, gdk.ModifierType.CONTROL_MASK)
        keys = [gdk.unicode_to_keyval(ord(character)) for character in text] or [gdk.KEY_Delete]
        for key in keys:
            self.press(key)
        # The page takes one key after the other; the script may not come before them.
        end = time.monotonic() + self.limit
        while self.evaluate("return released;", WORLD) < len(keys) + 1:
            if time.monotonic() > end:
                raise TaskError("the page did not take the keys", gone=True)

    def press(self, key: int, state: int = 0) -> None:
        """Press and release one key."""
        display = self.gdk.Display.get_default()
        keyboard = display.get_default_seat().get_keyboard()
        # Shortcuts are told by the place of the key; signs that this keyboard does not have come without one.
        found, places = self.gdk.Keymap.get_for_display(display).get_entries_for_keyval(key)
        for kind in (self.gdk.EventType.KEY_PRESS, self.gdk.EventType.KEY_RELEASE):
            event = self.gdk.Event.new(kind)
            event.window = self.view.get_window()
            event.keyval = key
            event.hardware_keycode = places[0].keycode if found else 0
            event.state = self.gdk.ModifierType(state)
            event.set_device(keyboard)
            self.view.event(event)


def read_lines(lines: deque[str]) -> None:
    """Collect what is asked; an empty text is the end."""
    lines.extend(sys.stdin)
    lines.append("")


def say(answer: dict[str, object]) -> None:
    """Write one line of JSON."""
    print(json.dumps(answer), flush=True)


def main(xvfb: str, profile: str, limit: float) -> None:
    """Show the window and do what is asked until the input ends."""
    screen = start_screen(xvfb, profile)
    try:
        window = Window(profile, limit)
        say({"number": 0})
        lines: deque[str] = deque()
        threading.Thread(target=read_lines, args=(lines,), daemon=True).start()
        while True:
            while not lines:
                window.glib.MainContext.default().iteration(True)
            line = lines.popleft()
            if not line:
                break
            asked = json.loads(line)
            number, task = asked.pop("number"), asked.pop("task")
            try:
                say({"number": number, "value": getattr(window, task)(**asked)})
            except TaskError as failure:
                say({"number": number, "failure": str(failure), "gone": failure.gone})
        window.window.destroy()
    finally:
        screen.terminate()
        screen.wait()


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], float(sys.argv[3]))
