"""session.py: two people work on calls with a store each, as they would type it.

Identifiers are made on the spot, so these sessions are played instead of compared with a text. Each function is one
session in a folder of its own; `ask` gives standard output, `refuse` the error line of a command that must fail."""
import json
import os
import pathlib
import re
import subprocess
import tempfile


class Desk:
    """One person with a store."""

    def __init__(self, program, folder, name, faults):
        self.program, self.name, self.faults = program, name, faults
        self.store = pathlib.Path(folder) / f"{name}.db"

    def run(self, *words):
        env = dict(os.environ, OVENWRIGHT_STORE=str(self.store), OVENWRIGHT_TECHNICIAN=self.name)
        return subprocess.run([self.program, *words], capture_output=True, text=True, env=env, timeout=120)

    def ask(self, *words):
        done = self.run(*words)
        if done.returncode != 0:
            self.faults.append(f"{' '.join(words)}: status {done.returncode}, {done.stderr.strip()}")
        return done.stdout

    def refuse(self, status, says, *words):
        done = self.run(*words)
        if done.returncode != status or says not in done.stderr:
            self.faults.append(f"{' '.join(words)}: status {done.returncode}, {done.stderr.strip()}; not {status}, {says}")
        if done.stdout:
            self.faults.append(f"{' '.join(words)}: an answer beside the error")

    def want(self, wanted, text):
        if not re.search(wanted, text, re.M):
            self.faults.append(f"not found: {wanted} in\n{text}")

    def call(self, *words):
        return self.ask("call", "list", "--all", *words)[:8]


def a_call_from_start_to_callback(ada, other, folder):
    ada.want("^call [0-9a-f]{8}, 4 records added$", ada.ask("call", "new", "data/demo/pale-bottom.yaml"))
    call = ada.call("pale")
    ada.ask("call", "add", call, "{reading: OL, between: [BK1, BK2], lift: [BK1], power: off}")
    shown = ada.ask("call", "show", call)
    ada.want(r"^   5  \S+ \S+  ada         reading: OL, between: \[BK1, BK2\]", shown)
    ada.want("Verdict     Found: bake-element.open", shown)
    ada.want("Verdict     Not settled yet", ada.ask("call", "show", call, "--at", "4"))
    ada.ask("call", "strike", call, "5", "--why", "the other element")
    ada.want(r"\(struck\)$", ada.ask("call", "show", call))
    ada.want("Verdict     Not settled yet", ada.ask("call", "show", call))
    ada.ask("call", "close", call, "--fault", "bake-element.open", "--minutes", "85")
    if ada.ask("call", "list"):
        ada.faults.append("a closed call is listed as open")
    ada.want(f"^{call}  .*closed", ada.ask("call", "list", "--all", "bake-element.open"))
    ada.refuse(3, "a call that is closed", "call", "close", call)
    ada.ask("call", "reopen", call, "--why", "pale again")
    ada.want(f"^{call}  .*reopened", ada.ask("call", "list"))
    ada.refuse(3, "a call that is not closed", "call", "reopen", call, "--why", "again")
    ada.want("^nothing wrong$", ada.ask("store", "check"))


def wrong_words_are_not_put_on_record(ada, other, folder):
    ada.refuse(4, "unable to open", "call", "list")
    ada.ask("call", "new", "data/demo/pale-bottom.yaml")
    call = ada.call()
    ada.refuse(3, "'BKX'", "call", "add", call, "{reading: OL, between: [BKX, BK2], power: off}")
    ada.refuse(3, "the entry:1:", "call", "add", call, "{look: bake-element, sees: purple}")
    ada.refuse(3, "an entry: ", "call", "add", call, "[1]")
    ada.refuse(2, "no reason", "call", "strike", call, "2")
    ada.refuse(2, "the number of a record", "call", "strike", call, "99", "--why", "x")
    ada.refuse(2, "the number of a record", "call", "strike", call, "two", "--why", "x")
    ada.refuse(2, "the number of a record", "call", "show", call, "--at", "0")
    ada.refuse(3, "a fault of this appliance", "call", "close", call, "--fault", "bake-elemnt.open")
    ada.refuse(2, "minutes from 0", "call", "close", call, "--minutes", "long")
    ada.refuse(3, "the end of a call", "call", "show", "ffff0000")
    ada.refuse(3, "at least the last four", "call", "show", call[-2:])
    ada.want("4 records|^   4 ", ada.ask("call", "show", call))
    if re.search("^   5 ", ada.ask("call", "show", call), re.M):
        ada.faults.append("something refused is on record")


def two_people_meet(ada, bo, folder):
    ada.ask("call", "new", "data/demo/worried-owner.yaml")
    call = ada.call()
    ada.ask("store", "backup", str(bo.store))
    ada.refuse(4, "a file that is there already", "store", "backup", str(bo.store))
    ada.ask("call", "add", call, "{note: seen by ada}")
    bo.ask("call", "add", call, "{note: seen by bo}")
    ada.ask("call", "close", call, "--fault", "nothing-wrong")
    bo.ask("call", "close", call, "--fault", "use.bad-thermometer")
    ada.want("^2 records given, 2 taken$", ada.ask("store", "sync", str(bo.store)))
    ada.want("^0 records given, 0 taken$", bo.ask("store", "sync", str(ada.store)))
    if ada.ask("call", "show", call) != bo.ask("call", "show", call):
        ada.faults.append("two stores after meeting show different calls")
    shown = ada.ask("call", "show", call)
    ada.want("both close the call: strike one of them", shown)
    ada.want("seen by ada", shown)
    ada.want("seen by bo", shown)
    ada.want("contradict each other", ada.ask("call", "list", "--all"))
    number = re.search(r"^ *(\d+) .*closed: confirmed: \[nothing-wrong\]", shown, re.M).group(1)
    ada.ask("call", "strike", call, number, "--why", "bo is right")
    if "contradict" in ada.ask("call", "list", "--all"):
        ada.faults.append("a settled contradiction is still listed")
    ada.want("run at 350 F", shown)  # its log is attached


def calls_travel_as_files(ada, bo, folder):
    ada.ask("call", "new", "data/demo/contradiction.yaml")
    call = ada.call()
    lines, file = f"{folder}/calls.jsonl", f"{folder}/call.yaml"
    ada.ask("call", "export", call, "--json", "-o", lines)
    ada.ask("call", "export", call, "-o", file)
    for line in pathlib.Path(lines).read_text().splitlines():
        json.loads(line)
    bo.want("records read", bo.ask("call", "import", lines))
    bo.want("0 added$", bo.ask("call", "import", lines))
    if ada.ask("call", "show", call) != bo.ask("call", "show", call):
        ada.faults.append("an imported call shows differently")
    if ada.ask("diagnose", file, "--json") != ada.ask("diagnose", "data/demo/contradiction.yaml", "--json"):
        ada.faults.append("an exported call is diagnosed differently")
    if ada.ask("call", "show", call, "--json") != ada.ask("diagnose", file, "--json"):
        ada.faults.append("a call on record is diagnosed differently from its file")
    forged = pathlib.Path(lines).read_text().replace("BR1", "BK1")
    pathlib.Path(lines).write_text(forged)
    bo.refuse(3, "two with this identifier differ", "call", "import", lines)
    pathlib.Path(lines).write_text(forged[:-30])
    bo.refuse(3, "calls.jsonl:", "call", "import", lines)
    bo.want("^nothing wrong$", bo.ask("store", "check"))


def judge(program, top):
    """(name, faults) of each session."""
    os.chdir(top)
    for session in (a_call_from_start_to_callback, wrong_words_are_not_put_on_record, two_people_meet,
                    calls_travel_as_files):
        faults = []
        with tempfile.TemporaryDirectory() as folder:
            session(Desk(program, folder, "ada", faults), Desk(program, folder, "bo", faults), folder)
        yield session.__name__, faults
