"""Real processes and what befalls them: killed, no room, no rights, two at once, odd surroundings.

``REPORTGEN_KILLS=50`` kills that many builds instead of one. ``REPORTGEN_PYTHONS`` names other
interpreters, parted by colons, whose environment has the requirements: each must build the same.
"""

from __future__ import annotations

import hashlib
import marshal
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pikepdf
import pytest
from houses import inside, plain_pages
from processes import COMMAND, RECORD, environment, reportgen, small_archive, tree

from reportgen.archive.write import CannotWrite, write_atomic
from reportgen.verbs.produce import say_not_printed

pytestmark = pytest.mark.usefixtures("every_core")

KILLS = int(os.environ.get("REPORTGEN_KILLS", "1"))
PYTHONS = [p for p in os.environ.get("REPORTGEN_PYTHONS", "").split(":") if p]
NOBODY = 65534
ODD = {
    "PYTHONHASHSEED": "4242", "TZ": "Pacific/Kiritimati", "LC_ALL": "C", "LANG": "C",
    "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0", "SOURCE_DATE_EPOCH": "0",
}  # fmt: skip


def sources(root: Path) -> dict[str, bytes]:
    return {n: data for n, data in tree(root).items() if not n.startswith("build/")}


@pytest.fixture(scope="module")
def plainly_built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a small archive with everything built, its documents of a line each, to copy."""
    root = plain_pages(small_archive(tmp_path_factory.mktemp("plain") / "archive"))
    begun = time.monotonic()
    done = reportgen("build", cwd=root)
    assert done.returncode == 0, done.stderr
    (root.parent / "seconds").write_text(str(time.monotonic() - begun), encoding="utf-8")
    return root


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a small archive with everything built as it is printed."""
    root = small_archive(tmp_path_factory.mktemp("built") / "archive")
    done = reportgen("build", cwd=root)
    assert done.returncode == 0, done.stderr
    return root


def manifest(root: Path) -> dict[str, str]:
    lines = (root / "build" / "SHA256SUMS").read_text(encoding="utf-8").splitlines()
    return {name: digest for digest, name in (line.split("  ", 1) for line in lines)}


def test_the_manifest_is_what_stands_there(plainly_built: Path) -> None:
    listed = manifest(plainly_built)
    assert len([name for name in listed if name.endswith(".pdf")]) >= 5
    for name, digest in listed.items():
        stands = (plainly_built / "build" / name).read_bytes()
        assert hashlib.sha256(stands).hexdigest() == digest


@pytest.mark.skipif(not PYTHONS, reason="REPORTGEN_PYTHONS names no other interpreter")
@pytest.mark.parametrize("python", PYTHONS)
def test_another_python_builds_the_same_bytes(built: Path, tmp_path: Path, python: str) -> None:
    root = small_archive(tmp_path / "archive")
    done = subprocess.run(
        [python, "-m", "reportgen", "build"], cwd=root, env=environment(), check=False,
        capture_output=True, text=True, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert manifest(root) == manifest(built)


def test_a_killed_build_leaves_whole_files(plainly_built: Path, tmp_path: Path) -> None:
    """Killed at any moment of a build, of which the first one says how long it takes."""
    root = tmp_path / "archive"
    shutil.copytree(plainly_built, root)
    seconds = float((plainly_built.parent / "seconds").read_text(encoding="utf-8"))
    chance = random.Random(20261125)
    killed = 0
    for number in range(KILLS):
        path = root / RECORD
        text = path.read_text(encoding="utf-8")
        path.write_text(re.sub("volume: 40[.0-9]* L", f"volume: 40.{number:03d} L", text, count=1))
        before = sources(root)
        build = subprocess.Popen(
            [*COMMAND, "build"], cwd=root, env=environment(), start_new_session=True,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        # Half of the time only the first process is killed, and its workers must end by themselves.
        time.sleep(chance.uniform(0.2, 1) * seconds)
        if build.poll() is None:
            killed += 1
            if number % 2:
                os.killpg(build.pid, signal.SIGKILL)
            else:
                build.kill()
        build.wait()
        assert sources(root) == before
        for made in (root / "build").rglob("*.pdf"):
            with pikepdf.open(made) as pdf:
                assert len(pdf.pages) >= 1
            assert made.read_bytes().rstrip().endswith(b"%%EOF")
    assert killed or KILLS < 4, "the machine is too quick for these moments"
    done = reportgen("build", cwd=root)
    assert done.returncode == 0, done.stderr
    assert not list(root.rglob(".part-*"))
    for name, digest in manifest(root).items():
        assert hashlib.sha256((root / "build" / name).read_bytes()).hexdigest() == digest
    print(f"{killed} of {KILLS} builds were killed while at work")


def test_workers_end_with_the_run_that_was_killed(tmp_path: Path) -> None:
    if not Path("/proc/self/task").is_dir():
        pytest.skip("needs /proc")
    root = small_archive(tmp_path / "archive")
    build = subprocess.Popen(
        [*COMMAND, "build"], cwd=root, env=environment(), start_new_session=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip

    def workers() -> list[int]:
        found = []
        for entry in Path("/proc").iterdir():
            try:
                if entry.name.isdigit() and os.getpgid(int(entry.name)) == build.pid:
                    state = (entry / "stat").read_text().rpartition(")")[2].split()[0]
                    found += [int(entry.name)] if state != "Z" else []
            except (OSError, IndexError):
                continue
        return [pid for pid in found if pid != build.pid]

    until = time.monotonic() + 60
    while not workers() and build.poll() is None and time.monotonic() < until:
        time.sleep(0.05)
    if not workers():
        build.wait()
        pytest.skip("one core: there are no workers")
    time.sleep(0.5)
    build.kill()
    build.wait()
    until = time.monotonic() + 30
    while workers() and time.monotonic() < until:
        time.sleep(0.1)
    assert workers() == []


def test_two_builds_at_once_both_end_well(plainly_built: Path, tmp_path: Path) -> None:
    root = tmp_path / "archive"
    shutil.copytree(plainly_built, root)
    (root / "build" / "sheets" / "2026-01-tasting.pdf").unlink()
    both = [
        subprocess.Popen(
            [*COMMAND, "build"], cwd=root, env=environment(), text=True,
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
        )
        for _ in range(2)
    ]  # fmt: skip
    said = [one.communicate(timeout=300)[1] for one in both]
    assert [one.returncode for one in both] == [0, 0], said
    assert tree(root / "build").keys() == tree(plainly_built / "build").keys()
    assert manifest(root) == manifest(plainly_built)
    # The second waits, and then has nothing to do.
    assert any("0 built" in words for words in said), said


def test_a_stale_lock_is_harmless(plainly_built: Path, tmp_path: Path) -> None:
    root = tmp_path / "archive"
    shutil.copytree(plainly_built, root)
    (root / "build" / ".lock").write_text("12345\n")
    (root / "build" / "sheets" / ".part-left").write_bytes(b"half a file")
    done = inside("build", cwd=root)
    assert done.returncode == 0 and "0 built" in done.stderr, done.stderr
    assert not list(root.rglob(".part-*"))


LIMITED = """
import resource, signal, sys
# Bytecode is written without a look at what the disk took: it would be cut, and stay.
sys.dont_write_bytecode = True
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (8192, 8192))
from reportgen.cli import main
sys.exit(main(sys.argv[1:]))
"""


def test_no_room_left_is_one_sentence_and_the_old_file_stands(
    plainly_built: Path, tmp_path: Path
) -> None:
    root = tmp_path / "archive"
    shutil.copytree(plainly_built, root)
    # Sheets as they are printed, for which there is no room.
    shutil.rmtree(root / "templates")
    before = tree(root)
    compiled = tmp_path / "compiled"
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, "sheet", "--copy", "2"],
        cwd=root, capture_output=True, text=True, timeout=300,
        env=environment(PYTHONDONTWRITEBYTECODE="", PYTHONPYCACHEPREFIX=str(compiled)),
    )  # fmt: skip
    assert done.returncode == 2 and len(done.stderr.splitlines()) == 1, done.stderr
    assert "Traceback" not in done.stderr
    assert tree(root) == before
    # Nor does the test leave cut bytecode in the checkout for whoever runs the tool next.
    for path in compiled.rglob("*.pyc"):
        marshal.loads(path.read_bytes()[16:])


def test_a_full_disk_under_the_output(tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.mkdir()
    size = ["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(small)]
    if os.geteuid() != 0 or subprocess.run(size, capture_output=True).returncode != 0:
        pytest.skip("needs to mount a small file system")
    try:
        write_atomic(small / "a.pdf", b"old")
        with pytest.raises(CannotWrite, match="a.pdf: No space left"):
            write_atomic(small / "a.pdf", b"new" * 20_000)
        assert tree(small) == {"a.pdf": b"old"}
    finally:
        subprocess.run(["umount", str(small)], check=True)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_under_what_is_printed(plainly_built: Path) -> None:
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [*COMMAND, "figures"], cwd=plainly_built, stdout=full, stderr=subprocess.PIPE,
            text=True, timeout=300, env=environment(),
        )  # fmt: skip
    assert done.returncode == 2 and "Traceback" not in done.stderr
    assert "space" in done.stderr


def as_nobody() -> list[str]:
    if os.geteuid() != 0:
        return []
    if shutil.which("setpriv") is None:
        pytest.skip("needs setpriv to give up root")
    return ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups"]


def test_a_folder_that_may_not_be_written(tmp_path: Path) -> None:
    root = small_archive(tmp_path / "archive")
    for folder in (root, *root.rglob("*"), *root.parents):
        if folder.is_dir() and folder.is_relative_to(Path("/tmp")) and folder != Path("/tmp"):
            folder.chmod(0o755)
    (root).chmod(0o555)
    before = as_nobody()
    probe = subprocess.run([*before, sys.executable, "-c", ""], capture_output=True)
    if probe.returncode != 0:
        pytest.skip("this interpreter cannot be run by another user")
    done = reportgen("sheet", cwd=root, before=before, HOME="/nowhere")
    root.chmod(0o755)
    assert done.returncode == 2, done.stderr
    assert "build" in done.stderr and "Traceback" not in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_the_name_of_an_output_is_taken(tmp_path: Path) -> None:
    folder, target = tmp_path / "a.pdf", tmp_path / "precious"
    folder.mkdir()
    target.write_text("mine")
    (tmp_path / "b.pdf").symlink_to(target)
    for name in ("a.pdf", "b.pdf"):
        with pytest.raises(CannotWrite, match="not a plain file"):
            write_atomic(tmp_path / name, b"data")
    assert target.read_text() == "mine" and not list(tmp_path.glob(".part-*"))


def test_a_clock_that_was_set_back_hides_no_change(plainly_built: Path, tmp_path: Path) -> None:
    """Times of files mean nothing: neither newer outputs nor a record saved "before" them."""
    root = tmp_path / "archive"
    shutil.copytree(plainly_built, root)
    for number, path in enumerate(sorted(root.rglob("*"))):
        when = (4_000_000_000, 1_000_000_000)[number % 2]
        os.utime(path, (when, when))
    done = inside("build", cwd=root)
    assert "0 built" in done.stderr and manifest(root) == manifest(plainly_built)
    path = root / RECORD
    path.write_text(path.read_text(encoding="utf-8") + "# a remark\n", encoding="utf-8")
    os.utime(path, (1_000_000_000, 1_000_000_000))
    done = inside("build", cwd=root)
    assert "build/records/2026-01.pdf" in done.stdout.splitlines()
    # Nothing else of the batch says a word of it.
    assert not [line for line in done.stdout.splitlines() if "sheets/" in line]


def test_a_copy_of_a_record_in_another_folder_takes_nobodys_place(
    plainly_built: Path, tmp_path: Path
) -> None:
    """The copy comes first by name, and the record itself is as it was when it was built."""
    root = tmp_path / "archive"
    shutil.copytree(plainly_built, root)
    copy = root / "2025" / Path(RECORD).name
    copy.parent.mkdir()
    copy.write_bytes((root / RECORD).read_bytes().replace(b"name: ", b"name: Stray "))
    for _ in range(2):
        done = inside("build", cwd=root)
        assert done.returncode == 1
        assert f"2025/{copy.name}: not printed" in done.stderr
        assert f"{RECORD}: not printed" not in done.stderr
    for name, listed in manifest(plainly_built).items():
        if not name.startswith("ledger"):
            assert manifest(root)[name] == listed, name
    # By its number both are meant, so that the copy is told.
    done = inside("check", "2026-01", cwd=root)
    assert done.returncode == 1
    assert done.stdout.startswith(f"2025/{copy.name}:") and RECORD in done.stdout


def test_what_is_not_printed_names_the_file_in_its_way(plainly_built: Path, tmp_path: Path) -> None:
    root = tmp_path / "archive"
    shutil.copytree(plainly_built, root)
    with (root / "stock.yaml").open("a", encoding="utf-8") as stock:
        stock.write("malt: {}\n")
    done = inside("build", "2026-01", cwd=root)
    assert done.returncode == 1
    assert f"{RECORD}: not printed, stock.yaml cannot be read in full" in done.stderr


def test_a_file_of_the_house_in_the_way_of_all_is_said_once(
    capsys: pytest.CaptureFixture[str],
) -> None:
    say_not_printed({"b": ("stock.yaml",), "c": (), "a": ("stock.yaml",)})
    said = [line.partition(" cannot")[0] for line in capsys.readouterr().err.splitlines()]
    assert said == ["2 records: not printed, stock.yaml", "c: not printed, c"]


def test_the_same_bytes_in_any_surroundings(plainly_built: Path, tmp_path: Path) -> None:
    """Another folder, time zone, locale, hash seed, file mode mask, home and clock setting.

    Documents as they are printed are held against each other in tests/report.
    """
    root = plain_pages(small_archive(tmp_path / "another folder, with ümlaut"))
    masked = ["sh", "-c", 'umask 077; unset HOME XDG_CACHE_HOME; exec "$@"', "sh"]
    done = reportgen("build", cwd=root, before=masked, **ODD)
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    ours, theirs = tree(plainly_built / "build"), tree(root / "build")
    assert ours.keys() == theirs.keys()
    assert [name for name in ours if ours[name] != theirs[name]] == []
    modes = {p.stat().st_mode & 0o777 for p in (root / "build").rglob("*.pdf")}
    assert modes == {0o644}


def test_a_terminal_without_the_letters(tmp_path: Path) -> None:
    root = small_archive(tmp_path / "archive")
    path = root / RECORD
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("malt: pale,", "malt: pâle→,"), encoding="utf-8")
    for coding in ("ascii", "latin-1"):
        done = reportgen("check", cwd=root, PYTHONIOENCODING=coding)
        assert done.returncode == 1 and "Traceback" not in done.stderr
        assert "unknown-name" in done.stdout
