"""desk.py: a server of one's own and devices that talk to it, for tests/http/run and bench/load."""
import http.client
import json
import os
import pathlib
import re
import signal
import subprocess
import tempfile
import time
import uuid


class Server:
    """`ovenwright serve` on a free port, with a store in a folder of its own."""

    def __init__(self, program, *options, store=None):
        self.program, self.options = program, options
        self.folder = tempfile.TemporaryDirectory()
        self.store = store or f"{self.folder.name}/calls.db"
        self.port = 0
        self.start()

    def start(self):
        env = dict(os.environ, OVENWRIGHT_CACHE=f"{self.folder.name}/cache")
        self.process = subprocess.Popen([self.program, "serve", "--store", self.store, "--port", str(self.port), *self.options],
                                        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=env)
        self.address = self.process.stdout.readline().strip()
        self.code = re.search(r"code (\S+),", self.process.stdout.readline())[1]
        self.port = int(self.address.rsplit(":", 1)[1])

    def kill(self):
        self.process.kill()
        self.process.wait()

    def stop(self):
        """Status of an orderly end."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(timeout=20)

    def memory_kilobyte(self):
        status = pathlib.Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", status)[1])


class Device:
    """Somebody's phone: keeps its cookie, makes its records."""

    def __init__(self, server, name=None, code=None):
        self.server, self.name, self.cookie, self.line = server, name, None, None
        if code:
            status, answer = self.ask("POST", "/api/session", {"code": code, "name": name})
            assert status == 201, (status, answer)

    def ask(self, method, path, body=None, headers=()):
        """(status, answer): JSON as what it means, everything else as bytes."""
        if not self.line:
            self.line = http.client.HTTPConnection("localhost", self.server.port, timeout=60)
        sent = {"Cookie": self.cookie} if self.cookie else {}
        sent.update(headers)
        data = json.dumps(body).encode() if isinstance(body, (dict, list)) else body
        try:
            self.line.request(method, path, data, sent)
            answer = self.line.getresponse()
            got = answer.read()
        except (http.client.HTTPException, OSError):
            self.line.close()
            self.line = None
            raise
        self.headers = answer.headers
        if cookie := answer.headers.get("Set-Cookie"):
            self.cookie = cookie.split(";")[0]
        if answer.headers.get("Connection") == "close":
            self.line.close()
            self.line = None
        is_json = answer.headers.get("Content-Type") == "application/json"
        return answer.status, json.loads(got) if is_json else got

    def record(self, call, kind, content, **more):
        now = time.time()
        at = time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(now)) + f".{int(now * 1000) % 1000:03d}Z"
        line = {"id": str(uuid.uuid4()), "call": call, "at": at, "by": self.name, "device": "phone", "kind": kind}
        if kind == "entry":
            line["subject"] = next(iter(content))
        return json.dumps({**line, **more, "content": content}) + "\n"

    def put(self, *lines):
        return self.ask("POST", "/api/records", "".join(lines).encode())

    def open_call(self, **head):
        call = str(uuid.uuid4())
        head = {"call": "bakes pale", "appliance": "range-relay-control", **head}
        status, answer = self.put(self.record(call, "opened", head),
                                  self.record(call, "entry", {"complaint": ["pale-bottom", "slow"]}))
        assert status == 200, (status, answer)
        return call


def listen(device, call):
    """A socket that reads an event stream."""
    line = http.client.HTTPConnection("localhost", device.server.port, timeout=30)
    line.request("GET", f"/api/calls/{call}/events", headers={"Cookie": device.cookie})
    answer = line.getresponse()
    assert answer.status == 200, answer.status
    return line, answer


def next_event(answer):
    """The data of the next event; comments are passed over."""
    data = None
    while True:
        line = answer.fp.readline() if not answer.chunked else answer.readline()
        if line == b"":
            return None
        line = line.rstrip(b"\r\n")
        if line.startswith(b"data: "):
            data = json.loads(line[6:])
        elif line == b"" and data is not None:
            return data
