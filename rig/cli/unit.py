"""The systemd unit that starts the rig when it gets power, and keeps it to its own."""

from collections.abc import Sequence
from pathlib import Path
from shlex import join

USER = "tubrig"
WATCHDOG_S = 20
HOME = Path("/var/lib/tubrig")

_UNIT = """\
# 1. sudo useradd --system --no-create-home --groups {groups} {user}
# 2. this file into /etc/systemd/system/tubrig.service
# 3. sudo install -D -o {user} -m 0644 {files} -t /var/lib/tubrig/
# 4. sudo systemctl enable --now tubrig
# 5. address, QR code and PIN: journalctl -u tubrig -o cat
[Unit]
Description=tubrig, the test rig for the float-load challenge
After=network.target
# Device groups whose driver is not loaded at the start would stay closed to it for good.
Wants={modules}
After={modules}
StartLimitIntervalSec=0

[Service]
Type=notify
NotifyAccess=main
ExecStart={command}
Environment=TUBRIG_DATA=/var/lib/tubrig PYTHONUNBUFFERED=1
User={user}
SupplementaryGroups={groups_spaced}
StateDirectory=tubrig
StateDirectoryMode=0750
Restart=always
RestartSec=2
WatchdogSec={watchdog_s}
TimeoutStopSec=15

# It needs its own folder, its port or pins, and the network; nothing else.
ProtectSystem=strict
ProtectHome=read-only
PrivateTmp=yes
DevicePolicy=closed
{devices}
NoNewPrivileges=yes
CapabilityBoundingSet=
RestrictAddressFamilies=AF_UNIX AF_INET AF_INET6
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
ProtectClock=yes
ProtectControlGroups=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
ProtectProc=invisible
RemoveIPC=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
UMask=0027

[Install]
WantedBy=multi-user.target
"""
_SERIAL = ("char-ttyACM", "char-ttyUSB", "char-ttyAMA", "char-ttyS")
_MODULES = ("cdc_acm", "usbserial")
_PINS = ("char-gpiochip", "char-gpiomem")


def unit_text(
    program: Path,
    arguments: Sequence[str],
    pins: bool,
    files: Sequence[str] = (),
) -> str:
    """Return the unit file, with the steps to install it as comments above.

    Args:
        program: the installed command.
        arguments: what comes after it, such as `serve --host 0.0.0.0`.
        pins: whether the rig is read from this computer's own pins.
        files: of the set-up, to be copied where the unit looks for them.
    """
    groups = ["dialout", "gpio"] if pins else ["dialout"]
    devices = (*_SERIAL, *_PINS) if pins else _SERIAL
    return _UNIT.format(
        user=USER,
        files=join(files),
        modules=" ".join(f"modprobe@{module}.service" for module in _MODULES),
        groups=",".join(groups),
        groups_spaced=" ".join(groups),
        command=join([str(program), *arguments]).replace("%", "%%"),
        devices="\n".join(f"DeviceAllow={device} rw" for device in devices),
        watchdog_s=WATCHDOG_S,
    )
