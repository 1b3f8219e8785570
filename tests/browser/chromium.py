# SPDX-License-Identifier: GPL-3.0-or-later
"""A headless Chromium, spoken to through a pair of pipes (Chrome DevTools protocol)."""

import base64
import json
import os
import select
import shutil
import signal
import subprocess
import tempfile
import time

NAMES = ("chromium", "chromium-browser")
WAIT_S = 60.0
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--hide-scrollbars", "--remote-debugging-pipe",
]


def find():
    """Path of a Chromium, None when there is none."""
    return next((path for path in map(shutil.which, NAMES) if path), None)


class Browser:
    """One tab. `events` holds what the page did that a sound page does not do."""

    def __init__(self):
        self.profile = tempfile.mkdtemp(prefix="bw-browser-")
        to_read, self.write_end = os.pipe()
        self.read_end, to_write = os.pipe()

        def ends():
            # the browser wants commands on 3 and answers on 4; both may be in the way of each other
            first, second = os.dup(to_read), os.dup(to_write)
            first, second = os.dup2(first, 30), os.dup2(second, 31)
            os.dup2(first, 3)
            os.dup2(second, 4)

        self.process = subprocess.Popen(
            [find(), *FLAGS, "--user-data-dir=" + self.profile, "about:blank"],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            close_fds=False, preexec_fn=ends, start_new_session=True)
        os.close(to_read)
        os.close(to_write)
        self.buffer = b""
        self.number = 0
        self.session = None
        self.events = []
        self.requests = []
        self.loaded = False
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(domain + ".enable")

    def close(self):
        for end in (self.write_end, self.read_end):
            os.close(end)
        try:
            self.process.wait(5)
        except subprocess.TimeoutExpired:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
        shutil.rmtree(self.profile, ignore_errors=True)

    def _message(self, until):
        while b"\0" not in self.buffer:
            ready, _, _ = select.select([self.read_end], [], [], max(0.0, until - time.monotonic()))
            piece = os.read(self.read_end, 1 << 20) if ready else b""
            if not piece:
                raise RuntimeError("the browser gave no answer")
            self.buffer += piece
        line, self.buffer = self.buffer.split(b"\0", 1)
        return json.loads(line)

    def _note(self, message):
        method, params = message.get("method"), message.get("params", {})
        if method == "Page.loadEventFired":
            self.loaded = True
        elif method == "Network.requestWillBeSent":
            self.requests.append(params["request"]["url"][:200])
        elif method == "Runtime.consoleAPICalled":
            self.events.append("console: " + json.dumps(params.get("args"))[:300])
        elif method == "Runtime.exceptionThrown":
            self.events.append("exception: " + json.dumps(params["exceptionDetails"])[:300])
        elif method == "Log.entryAdded":
            self.events.append("log: " + params["entry"]["text"][:300])
        elif method == "Page.javascriptDialogOpening":
            self.events.append("dialog: " + params["message"][:300])
            self._send("Page.handleJavaScriptDialog", {"accept": True})

    def _send(self, method, params):
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self.write_end, data):]
        return self.number

    def call(self, method, **params):
        number = self._send(method, params)
        until = time.monotonic() + WAIT_S
        while True:
            message = self._message(until)
            if message.get("id") == number:
                if "error" in message:
                    raise RuntimeError(method + ": " + message["error"]["message"])
                return message["result"]
            self._note(message)

    def open(self, path, width=1200, height=900, phone=False):
        """Load a file and forget what earlier pages did."""
        self.events, self.requests, self.loaded = [], [], False
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=1, mobile=phone)
        self.call("Page.navigate", url="file://" + os.path.abspath(path))
        until = time.monotonic() + WAIT_S
        while not self.loaded:
            self._note(self._message(until))

    def run(self, code):
        """Value of a JavaScript expression in the page."""
        answer = self.call("Runtime.evaluate", expression=code, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(json.dumps(answer["exceptionDetails"])[:500])
        return answer["result"].get("value")

    def press(self, key):
        for kind in ("keyDown", "keyUp"):
            text = {"text": key} if len(key) == 1 and kind == "keyDown" else {}
            self.call("Input.dispatchKeyEvent", type=kind, key=key, **text)

    def point(self, x, y):
        self.call("Input.dispatchMouseEvent", type="mouseMoved", x=x, y=y)

    def screenshot(self, path, whole=True):
        data = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=whole)["data"]
        with open(path, "wb") as file:
            file.write(base64.b64decode(data))

    def print_pdf(self, path):
        data = self.call("Page.printToPDF", preferCSSPageSize=True)["data"]
        with open(path, "wb") as file:
            file.write(base64.b64decode(data))
