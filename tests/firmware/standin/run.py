"""MicroPython runs this: the firmware's own files on a scripted world, until the script is over.

micropython run.py script.json firmware_folder report.json
"""

import json
import sys

script_file, firmware, report_file = sys.argv[1:4]
import machine  # noqa: E402, F401
import onewire  # noqa: E402, F401
import virtual_time  # noqa: E402
from world import Over, Restart, world  # noqa: E402

sys.modules["time"] = virtual_time
sys.path.append(firmware)
FILES = ("settings", "wire", "amplifier", "gauge", "thermometer", "board", "main")

try:
    while True:
        import settings
        import wire

        for key, value in world.script.get("settings", {}).items():
            setattr(settings, key, value)
        wire.FIRST_SEQ = world.script.get("first_seq", 0)
        wire.FIRST_MS = world.script.get("first_ms", 0)
        try:
            import main  # noqa: F401

            break  # it chose to stay still
        except Restart:
            world.restarted()
            for name in FILES:
                sys.modules.pop(name, None)
except Over:
    pass
with open(report_file, "w") as file:
    json.dump(world.report(), file)
