"""The schemas are sound, take the demo files, and refuse what reading refuses."""

import json
import tomllib
from datetime import date, time

import jsonschema
import pytest
from tests.unit.studio.helpers import demo_text

from pourwright.studio.schema import schemas


def _plain(value):
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items()}
    return [_plain(part) for part in value] if isinstance(value, list) else value


def _demo(name, *changes):
    return _plain(tomllib.loads(demo_text(f"{name}.toml", *changes)))


@pytest.mark.parametrize("name", ["studio", "calibration", "day"])
def test_the_demo_file_fits_its_schema(name):
    schema = schemas()[name]
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(_demo(name), schema, format_checker=jsonschema.FormatChecker())


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("studio", ("flasks = 6", 'flasks = "6"')),
        ("studio", ('steel = "196 g"', "steel = 196")),
        ("studio", ('steel = "196 g"', 'steel = "196 g"\ncolour = "red"')),
        ("studio", ('steel = "196 g"\n', "")),
        ("day", ("copies = 2", "copies = 0")),
        ("day", ('role = "pourer"', 'role = "thrower"')),
        ("calibration", ('low = "0.4 %"\n', "")),
    ],
)
def test_the_schema_refuses_what_reading_refuses(name, change):
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(_demo(name, change), schemas()[name])


def test_schemas_are_plain_json():
    assert json.loads(json.dumps(schemas())) == schemas()
