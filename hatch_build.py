"""Build hook: compiles every message catalogue (.po) to the .mo that the program reads."""

from pathlib import Path

from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from hatchling.builders.hooks.plugin.interface import BuildHookInterface


def compile_catalogues(root: Path) -> int:
    count = 0
    for po_path in sorted((root / "src/pourwright/locale").glob("*/LC_MESSAGES/*.po")):
        with po_path.open("rb") as source:
            catalogue = read_po(source, abort_invalid=True)
        with po_path.with_suffix(".mo").open("wb") as target:
            write_mo(target, catalogue)
        count += 1
    return count


class CompileMessages(BuildHookInterface):
    PLUGIN_NAME = "custom"

    def initialize(self, version, build_data):
        if compile_catalogues(Path(self.root)) == 0:
            raise RuntimeError("no message catalogue found under src/pourwright/locale")


if __name__ == "__main__":
    print(f"{compile_catalogues(Path(__file__).parent)} message catalogues compiled")
