"""A process of the program that is forked from one that has loaded it, not started: for tests that kill many."""

from __future__ import annotations

import os
import signal
import sys
import traceback
from collections.abc import Mapping
from pathlib import Path
from typing import NoReturn

import geneticlog.faces.boat.pipe
import geneticlog.faces.commands.fish  # noqa: F401 - loaded once, before the forks
from geneticlog.faces.app.cli import main as program


class Forked:
    """A process of the program as subprocess.Popen makes one, as far as a log that is killed needs it."""

    def __init__(self, command: list[str], *, cwd: Path, env: Mapping[str, str], **_pipes: object) -> None:
        given, to_give = os.pipe()
        told, to_tell = os.pipe()
        sys.stdout.flush()
        self.pid = os.fork()
        if not self.pid:
            os.close(to_give)
            os.close(told)
            self._run(command[3:], given, to_tell, cwd, env)
        os.close(given)
        os.close(to_tell)
        self.stdin = os.fdopen(to_give, "w")
        self.stdout = os.fdopen(told)

    def _run(self, words: list[str], given: int, to_tell: int, cwd: Path, env: Mapping[str, str]) -> NoReturn:
        code = 70
        try:
            os.dup2(given, 0)
            os.dup2(to_tell, 1)
            os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
            sys.stdin, sys.stdout, sys.stderr = os.fdopen(0), os.fdopen(1, "w"), os.fdopen(2, "w")
            os.chdir(cwd)
            os.environ.update(env)
            sys.argv = ["geneticlog", *words]
            code = program()
        except SystemExit as left:
            code = left.code if isinstance(left.code, int) else 0 if left.code is None else 1
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            os._exit(code)

    def send_signal(self, number: signal.Signals) -> None:
        os.kill(self.pid, number)

    def wait(self) -> int:
        return os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])
