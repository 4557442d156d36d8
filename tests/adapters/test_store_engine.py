"""Opening, migrating, reading and writing the database, and what may go wrong outside."""

import multiprocessing
import os
import runpy
import shutil
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Column, Integer, MetaData, Table, event, exc, insert, select, text, update
from sqlalchemy.engine import make_url

from sprayadvisor.adapters.store import engine as store_engine
from sprayadvisor.adapters.store.engine import migrate, open_engine, read, write
from sprayadvisor.adapters.store.failures import store_error
from sprayadvisor.adapters.store.schema import JOBS, METADATA, REVISION, SITES
from sprayadvisor.errors import StoreError

COUNTER = Table("counter", MetaData(), Column("n", Integer, nullable=False))


def sqlite_url(path):
    """Return the address of a SQLite file."""
    return f"sqlite:///{path}"


@pytest.fixture
def opened(tmp_path):
    """Return a way to open engines that are closed when the test ends."""
    engines = []

    def opener(name="jobs.db", **options):
        engines.append(open_engine(sqlite_url(tmp_path / name), **options))
        return engines[-1]

    yield opener
    for engine in engines:
        engine.dispose()


def test_open_makes_the_folder_and_sets_sqlite_up(opened, tmp_path):
    """The folder is made; connections wait, check foreign keys and keep a write-ahead log."""
    engine = opened("a/b/jobs.db", busy_timeout_s=1.25)
    with read(engine) as connection:
        pragmas = [
            connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("busy_timeout", "foreign_keys", "journal_mode")
        ]
    assert pragmas == [1250, 1, "wal"]
    assert (tmp_path / "a/b/jobs.db").exists()


def test_a_database_is_its_owner_s_alone(opened, tmp_path):
    """File, log and folder hold customers' names: nobody else reads them, whatever the umask."""
    old = os.umask(0o022)
    try:
        engine = opened("a/jobs.db")
        migrate(engine)
        with write(engine) as connection:
            connection.execute(text("CREATE TABLE other (n INTEGER)"))
            modes = {one.name: one.stat().st_mode & 0o777 for one in (tmp_path / "a").iterdir()}
    finally:
        os.umask(old)
    assert modes == dict.fromkeys(("jobs.db", "jobs.db-wal", "jobs.db-shm"), 0o600)
    assert (tmp_path / "a").stat().st_mode & 0o777 == 0o700


def test_a_database_that_is_there_is_left_as_it_is(opened, tmp_path):
    """Nothing is emptied, and no mode that its owner chose is changed."""
    first = opened()
    migrate(first)
    (tmp_path / "jobs.db").chmod(0o640)
    migrate(opened())
    assert (tmp_path / "jobs.db").stat().st_mode & 0o777 == 0o640
    with read(first) as connection:
        assert connection.execute(select(JOBS)).all() == []


def test_migrate_builds_the_tables_and_may_be_repeated(opened):
    """From nothing to the newest revision, and again without a change."""
    engine = opened()
    for _ in range(2):
        migrate(engine)
        with read(engine) as connection:
            assert connection.execute(text("SELECT version_num FROM alembic_version")).all() == [
                (REVISION,)
            ]
            assert connection.execute(select(JOBS)).all() == []


def test_migrations_and_tables_agree(opened):
    """Alembic, comparing what the migrations built with the tables in code, finds no difference."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    engine = opened()
    migrate(engine)
    with read(engine) as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": True}
        )
        assert compare_metadata(context, METADATA) == []


def test_comparison_would_see_a_difference(opened):
    """A table the migrations know nothing of is found, so the test above can fail."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    engine = opened()
    with read(engine) as connection:
        assert len(compare_metadata(MigrationContext.configure(connection), METADATA)) > 4


def test_revision_in_code_is_the_newest_script():
    """The revision a start looks for is the head of the scripts."""
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option(
        "script_location", str(Path(store_engine.__file__).with_name("migrations"))
    )
    assert ScriptDirectory.from_config(config).get_heads() == [REVISION]


def test_sites_stored_before_the_kerb_was_asked_lie_off_it(opened):
    """An older database keeps its sites; none of them is at a kerb until somebody says so."""
    from alembic import command
    from alembic.config import Config

    engine = opened()
    old = {
        column.name: {"JSON": {}, "FLOAT": 1.0, "TIME": None}.get(
            str(column.type).split("(")[0], "x"
        )
        for column in SITES.columns
        if column.name != "kerb"
    }
    config = Config()
    config.set_main_option(
        "script_location", str(Path(store_engine.__file__).with_name("migrations"))
    )
    with write(engine) as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0002")
        connection.execute(insert(SITES).values(old))
    migrate(engine)
    with read(engine) as connection:
        assert connection.execute(select(SITES.c.name, SITES.c.kerb)).all() == [("x", False)]


def test_template_makes_a_revision_that_runs(tmp_path):
    """A new revision follows the newest one and is Python with an ``upgrade``."""
    from alembic import command
    from alembic.config import Config

    scripts = shutil.copytree(
        Path(store_engine.__file__).with_name("migrations"), tmp_path / "migrations"
    )
    config = Config()
    config.set_main_option("script_location", str(scripts))
    made = command.revision(config, message="Add a thing", rev_id="9998")
    module = runpy.run_path(made.path)
    assert (module["revision"], module["down_revision"]) == ("9998", REVISION)
    assert module["upgrade"]() is None


def test_start_at_the_newest_revision_loads_no_alembic(opened, tmp_path):
    """A second start is spared half a second of imports."""
    migrate(opened())
    program = (
        "import sys\n"
        "from sprayadvisor.adapters.store.engine import migrate, open_engine\n"
        f"engine = open_engine({sqlite_url(tmp_path / 'jobs.db')!r})\n"
        "migrate(engine)\nengine.dispose()\nprint('alembic' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout == "False\n"


def _migrate_in_process(url, gate, failures):
    """Migrate once all processes are ready."""
    gate.wait(30)
    try:
        engine = open_engine(url)
        migrate(engine)
        engine.dispose()
    except Exception as error:
        failures.put(repr(error))
        raise


def test_processes_may_migrate_at_once(tmp_path):
    """Four processes that meet at an empty file all succeed and leave one set of tables."""
    spawn = multiprocessing.get_context("spawn")
    gate, failures = spawn.Barrier(4), spawn.Queue()
    url = sqlite_url(tmp_path / "jobs.db")
    workers = [
        spawn.Process(target=_migrate_in_process, args=(url, gate, failures)) for _ in range(4)
    ]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert failures.empty(), failures.get()
    assert [worker.exitcode for worker in workers] == [0, 0, 0, 0]
    with closing(sqlite3.connect(tmp_path / "jobs.db")) as direct:
        assert direct.execute("SELECT version_num FROM alembic_version").fetchall() == [(REVISION,)]


def test_failed_migration_leaves_nothing(opened):
    """What breaks half-way through the tables leaves an empty database."""
    engine = opened()

    @event.listens_for(engine, "before_cursor_execute")
    def break_at_snapshots(_connection, _cursor, statement, *_rest):
        if "CREATE TABLE snapshots" in statement:
            raise RuntimeError("power cut")

    with pytest.raises(RuntimeError, match="power cut"):
        migrate(engine)
    with read(engine) as connection:
        assert connection.exec_driver_sql("SELECT name FROM sqlite_master").all() == []


def test_newer_database_is_left_alone(opened):
    """A database of a later version is not touched; the sentence says what to install."""
    engine = opened()
    migrate(engine)
    with write(engine) as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreError, match=r"jobs\.db was made by a newer version.*install"):
        migrate(engine)
    with read(engine) as connection:
        assert connection.execute(text("SELECT version_num FROM alembic_version")).scalar() == (
            "9999"
        )


def count_up(engine, times):
    """Read a number and write one more, many times."""
    for _ in range(times):
        with write(engine) as connection:
            n = connection.execute(select(COUNTER.c.n)).scalar_one()
            connection.execute(update(COUNTER).values(n=n + 1))


def test_threads_lose_no_update(opened):
    """Two threads that read, then write one row, end at the sum of both."""
    engine = opened()
    with write(engine) as connection:
        COUNTER.create(connection)
        connection.execute(insert(COUNTER).values(n=0))
    threads = [threading.Thread(target=count_up, args=(engine, 50)) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with read(engine) as connection:
        assert connection.execute(select(COUNTER.c.n)).scalar_one() == 100


def test_failed_block_keeps_nothing(opened):
    """What a block wrote before it raised is gone, and the error is the block's own."""
    engine = opened()
    with write(engine) as connection:
        COUNTER.create(connection)

    def put_and_fail():
        with write(engine) as connection:
            connection.execute(insert(COUNTER).values(n=1))
            raise KeyError("mine")

    with pytest.raises(KeyError, match="mine"):
        put_and_fail()
    with read(engine) as connection:
        assert connection.execute(select(COUNTER)).all() == []


def test_readers_pass_a_writer(opened):
    """While one connection writes, another reads what was there before."""
    engine = opened()
    migrate(engine)
    with write(engine) as connection:
        connection.execute(text("DELETE FROM jobs"))
        with read(engine) as reader:
            assert reader.execute(select(JOBS)).all() == []


def test_foreign_keys_are_held(opened):
    """An event of a job that is not stored is a defect and stays loud."""
    engine = opened()
    migrate(engine)
    with pytest.raises(exc.IntegrityError, match="FOREIGN KEY"), write(engine) as connection:
        connection.execute(
            text("INSERT INTO job_events VALUES (1, 'J9', '2027-05-03', '', '', '')")
        )


def test_defects_stay_loud(opened):
    """A wrong statement is no fault of the database and is not dressed up as one."""
    engine = opened()
    migrate(engine)
    with pytest.raises(exc.IntegrityError, match="NOT NULL"), write(engine) as connection:
        connection.execute(insert(SITES).values(name="x"))


def test_locked_database_is_a_sentence(opened, tmp_path):
    """Another program that holds the write lock: named, with what to do, and nothing changed."""
    engine = opened(busy_timeout_s=0.02)
    migrate(engine)
    with closing(sqlite3.connect(tmp_path / "jobs.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with (
            pytest.raises(StoreError, match=r"jobs\.db is being written by another"),
            write(engine),
        ):
            pytest.fail("the lock was taken twice")
        other.execute("ROLLBACK")
    with write(engine) as connection:
        assert connection.execute(select(JOBS)).all() == []


@pytest.fixture
def old_file_being_written(tmp_path):
    """Return a file without a write-ahead log yet, and the connection that is writing it."""
    with closing(
        sqlite3.connect(tmp_path / "old.db", isolation_level=None, check_same_thread=False)
    ) as other:
        other.execute("CREATE TABLE t (x)")
        other.execute("BEGIN IMMEDIATE")
        yield other


def test_switch_to_write_ahead_log_waits(opened, old_file_being_written):
    """While another connection writes the file, the switch waits for it, as a write would."""
    timer = threading.Timer(0.03, old_file_being_written.execute, ["COMMIT"])
    timer.start()
    with read(opened("old.db")) as connection:
        assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"
    timer.join()


@pytest.mark.usefixtures("old_file_being_written")
def test_switch_to_write_ahead_log_gives_up(opened):
    """When the other one does not finish in time, the sentence says who is in the way."""
    engine = opened("old.db", busy_timeout_s=0.03)
    with pytest.raises(StoreError, match=r"old\.db is being written by another"), read(engine):
        pytest.fail("the file was switched under a writer")


def test_folder_that_is_a_file_is_a_sentence(tmp_path):
    """A file where the folder should be."""
    (tmp_path / "taken").write_text("")
    for name in ("taken/jobs.db", "taken/more/jobs.db"):
        with pytest.raises(StoreError, match=rf"{name} cannot be made, for a file .*database_url"):
            open_engine(sqlite_url(tmp_path / name))


def test_folder_instead_of_file_is_a_sentence(tmp_path, opened):
    """A folder where the file should be."""
    (tmp_path / "jobs.db").mkdir()
    with pytest.raises(StoreError, match=r"jobs\.db cannot be opened; check"):
        migrate(opened())


def test_file_that_may_not_be_written_is_a_sentence(opened, tmp_path):
    """SQLite's own read-only mode stands in for a read-only folder, which root can write."""
    migrate(opened())
    engine = open_engine(f"sqlite:///file:{tmp_path}/jobs.db?mode=ro&uri=true")
    with pytest.raises(StoreError, match="give this user the right"), write(engine) as connection:
        connection.execute(text("DELETE FROM jobs"))
    engine.dispose()


def test_an_address_that_is_a_url_makes_no_folder(tmp_path, monkeypatch):
    """A ``file:`` URL is no path; taken for one, it would leave folders wherever one stands."""
    monkeypatch.chdir(tmp_path)
    url = f"sqlite:///file:{tmp_path}/gone/jobs.db?mode=ro&uri=true"
    open_engine(url).dispose()
    assert list(tmp_path.iterdir()) == []


def test_full_disk_is_a_sentence_and_nothing_is_half_written(opened):
    """No room for the second row: the first of the same block is not kept either."""
    engine = opened()
    migrate(engine)

    put = text(
        "INSERT INTO snapshots VALUES (NULL, '', '', '2027-05-03', '', zeroblob(:size), NULL)"
    )

    def put_too_much():
        with write(engine) as connection:
            pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
            connection.exec_driver_sql(f"PRAGMA max_page_count={pages + 2}")
            connection.execute(put, {"size": 10})
            connection.execute(put, {"size": 100_000})

    with pytest.raises(StoreError, match=r"no room left to write .*jobs\.db; free some space"):
        put_too_much()
    with read(engine) as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM snapshots").scalar() == 0
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"


def test_foreign_file_is_a_sentence_and_untouched(opened, tmp_path):
    """A file that is no database is named and left as it was."""
    content = b"Dear diary, it rained again. " * 50
    (tmp_path / "jobs.db").write_bytes(content)
    with pytest.raises(StoreError, match=r"jobs\.db is not a SQLite database; move it away"):
        migrate(opened())
    assert (tmp_path / "jobs.db").read_bytes() == content


def test_damaged_database_is_a_sentence(opened, tmp_path):
    """A database with pages overwritten is called damaged, not empty."""
    engine = opened()
    migrate(engine)
    engine.dispose()
    with (tmp_path / "jobs.db").open("r+b") as file:
        size = file.seek(0, 2)
        file.seek(4096)
        file.write(b"\xff" * (size - 4096))
    engine = opened()
    with pytest.raises(StoreError, match=r"jobs\.db is damaged"), read(engine) as connection:
        connection.execute(select(JOBS)).all()


@pytest.mark.parametrize(
    "url",
    [
        "",
        "jobs.db",
        "mysql://u:secret@h/d",
        "nosuch://u:secret@h/d",
        "postgresql://u:secret@h/d",
        "sqlite+nosuch:///x",
        "postgresql+psycopg://u:secret@h:port/d",
    ],
)
def test_unusable_address_is_a_sentence_without_the_password(url):
    """Whatever is not SQLite or psycopg is refused, and the address is not repeated."""
    with pytest.raises(StoreError, match="must begin with sqlite:/// or postgresql") as caught:
        open_engine(url)
    assert "secret" not in str(caught.value)


def test_missing_driver_is_a_sentence(monkeypatch):
    """Without psycopg the sentence says what to install."""
    monkeypatch.setitem(sys.modules, "psycopg", None)
    with pytest.raises(StoreError, match=r'pip install "sprayadvisor\[postgres\]"'):
        open_engine("postgresql+psycopg://u@h/d")


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (PermissionError(13, "no"), "give this user the right"),
        (OSError(28, "no"), "free some space"),
        (OSError(5, "it hums.\nmore"), r"\(\[Errno 5\] it hums"),
        (exc.TimeoutError("all in use"), "all in use"),
        (exc.OperationalError("q", {}, RuntimeError("")), "RuntimeError"),
    ],
)
def test_other_failures_name_the_database_and_a_mend(error, words):
    """Every failure from outside has its sentence."""
    sentence = str(store_error(make_url("sqlite:///shed/jobs.db"), error))
    assert "shed/jobs.db" in sentence
    assert "\n" not in sentence
    with pytest.raises(StoreError, match=words):
        raise store_error(make_url("sqlite:///shed/jobs.db"), error)


def test_names_of_databases_hold_no_password():
    """A server is named without its password, a database in memory as what it is."""
    server = store_error(make_url("postgresql+psycopg://u:secret@h/d"), OSError(5, "x"))
    assert "postgresql+psycopg://u:***@h/d" in str(server)
    assert "secret" not in str(server)
    assert ":memory:" in str(store_error(make_url("sqlite://"), OSError(5, "x")))


def test_database_in_memory_needs_no_folder():
    """An address without a file opens and migrates."""
    engine = open_engine("sqlite://")
    migrate(engine)
    engine.dispose()
