"""Puts the built app, the migrations and the demo kit into the wheel, under bagtrail/carried."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

sys.path.insert(0, str(Path(__file__).resolve().parent))
import making

#: What the demo kit's script draws with.
_DEMO_NEEDS = ["pillow"]


class CarryResources(BuildHookInterface):  # type: ignore[type-arg]
    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """What the build asks of its environment, for those parts that are not made yet."""
        node_needed = not making.client_is_fresh() and making.system_node() is None
        return [
            *([making.NODE_PACKAGE] if node_needed else []),
            *([] if making.demo_is_fresh() else _DEMO_NEEDS),
        ]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "editable":
            # It runs from the tree, where everything stands already.
            return
        python = Path(sys.executable)
        if not making.client_is_fresh():
            node = making.system_node() or making.packaged_node(python)
            if node is None:
                raise making.Failed("The app cannot be built without Node 22 or newer.")
            making.build_client(node)
        making.make_demo(python)
        carried = {
            making.CLIENT / "dist": "client",
            making.ROOT / "migrations": "migrations",
            making.DEMO / "out": "demo",
        }
        include = build_data["force_include"]
        for folder, name in carried.items():
            for file in sorted(folder.rglob("*")):
                if file.is_file() and file.name != ".made" and file.suffix != ".pyc":
                    place = file.relative_to(folder).as_posix()
                    # Manuals to try the reading of manuals with; no part of the kit.
                    if folder == making.DEMO / "out" and place.startswith("manuals/"):
                        continue
                    include[str(file)] = f"bagtrail/carried/{name}/{place}"
