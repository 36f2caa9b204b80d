"""Settings: defaults, what is read, and which sentence a wrong value gets."""

from __future__ import annotations

from pathlib import Path

import pytest

from bagtrail import cli
from bagtrail.settings import BadSetting, Settings


def read(**values: str) -> Settings:
    return Settings.from_env({f"BAGTRAIL_{name}": value for name, value in values.items()})


def test_defaults_need_no_setting():
    settings = read()
    assert settings.public_url == "http://localhost:8410"
    assert (settings.host, settings.port) == ("127.0.0.1", 8410)
    assert settings.database_url == f"sqlite:///{settings.data.as_posix()}/bagtrail.sqlite3"
    assert settings.photo_max_bytes == 12_000_000
    assert settings.photo_max_pixels == 50_000_000
    assert settings.data.name == "bagtrail"


def test_empty_value_counts_as_not_set():
    assert read(PORT=" ", DATABASE_URL="", PUBLIC_URL="") == read()


def test_everything_of_a_server_stands_under_its_data_folder(tmp_path: Path):
    settings = read(DATA=str(tmp_path / "data"))
    settings.prepare()
    for path in (settings.blob_folder, settings.epoch_file):
        assert tmp_path / "data" in path.parents
    assert settings.blob_folder.is_dir()


def test_public_url_follows_the_port_until_it_is_set():
    assert read(PORT="9000").public_url == "http://localhost:9000"
    assert (
        read(PORT="9000", PUBLIC_URL="https://Shed.Example/").public_url == "https://shed.example"
    )


def test_pitfall_5_trusted_hosts_are_this_machine_the_public_name_and_what_is_added():
    settings = read(PUBLIC_URL="https://shed.example:8443", TRUSTED_HOSTS="bench.lan, 192.0.2.7")
    assert settings.trusted_hosts == (
        "localhost",
        "127.0.0.1",
        "shed.example",
        "bench.lan",
        "192.0.2.7",
    )


@pytest.mark.parametrize(
    "url",
    ["postgres://u:p@db/shed", "postgresql://u:p@db/shed", "postgresql+psycopg2://u:p@db/shed"],
)
def test_postgresql_is_spoken_to_through_one_driver(url: str):
    assert read(DATABASE_URL=url).database_url == "postgresql+psycopg://u:p@db/shed"


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("PORT", "eighty", "whole number from 1 to 65535"),
        ("PORT", "0", "whole number from 1 to 65535"),
        ("PORT", "65536", "whole number from 1 to 65535"),
        ("WORKERS", "-1", "whole number from 1 to 64"),
        ("PHOTO_MAX_BYTES", "12 MB", "whole number"),
        ("PHOTO_MAX_PIXELS", "1e9", "whole number"),
        ("PUBLIC_URL", "shed.example", "scheme and host name"),
        ("PUBLIC_URL", "ftp://shed.example", "scheme and host name"),
        ("PUBLIC_URL", "http://shed.example/app", "nothing may follow"),
        ("PUBLIC_URL", "http://shed.example:port", "cannot be read"),
        ("PUBLIC_URL", "http://[fe80::1]", "scheme and host name"),
        ("DATABASE_URL", "shed.sqlite3", "looks like"),
        ("DATABASE_URL", "mysql://u@db/shed", "only sqlite and postgresql"),
        ("DATABASE_URL", "sqlite://", "names no database"),
        ("DATABASE_URL", "postgresql://u@db", "names no database"),
        ("TRUSTED_HOSTS", "https://shed.example", "without scheme"),
        ("DATA", __file__, "a folder is needed"),
    ],
)
def test_wrong_value_is_refused_with_its_name_and_what_would_do(name: str, value: str, said: str):
    with pytest.raises(BadSetting) as refusal:
        read(**{name: value})
    assert f"BAGTRAIL_{name}" in str(refusal.value)
    assert said in str(refusal.value)


def test_password_of_the_database_is_not_repeated_in_a_refusal():
    with pytest.raises(BadSetting) as refusal:
        read(DATABASE_URL="mysql://u:hush@db/shed")
    assert "hush" not in str(refusal.value)


def test_data_folder_that_cannot_be_made_is_told(tmp_path: Path):
    (tmp_path / "file").write_text("")
    with pytest.raises(BadSetting, match="cannot be made"):
        read(DATA=str(tmp_path / "file" / "data")).prepare()


def test_command_stops_with_a_sentence_not_a_trace(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setenv("BAGTRAIL_PORT", "eighty")
    assert cli.main(["serve"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("bagtrail: BAGTRAIL_PORT is 'eighty'")
    assert "Traceback" not in said
