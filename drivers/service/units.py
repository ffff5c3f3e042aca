"""The files that make a unit start by itself, as texts. Pure: nothing is read or written here.

Sources: systemd.service(5), systemd.exec(5), systemd.resource-control(5), tmpfiles.d(5).
"""

from __future__ import annotations

from dataclasses import dataclass

from drivers.places import ENVIRON_FILE, HOME_VARIABLE, RUN_VARIABLE
from drivers.realtime import PRIORITY

MARK = "# Written by `dryside unit install`; `dryside unit remove` takes it away.\n"
ENGINE_UNIT = "dryside.service"
SCREEN_UNIT = "dryside-screen.service"
HOME = "/var/lib/dryside"
RUN = "/run/dryside"
GROUPS = ("gpio", "dialout", "input", "video", "audio", "i2c")

# The keeper puts the lamp off 100 ms after the loop falls silent, so this term saves no paper: it
# only gets a working unit back. It is longer than the longest thing that the loop waits for, the
# start of another keeper (10 s), so that a mere slow memory card restarts nothing.
WATCHDOG_S = 20
CHIP_WATCHDOG_S = 15  # what the chip of a Raspberry Pi can count to, from memory of its data sheet

# Graded, and none below 86, which a red-only filter of 16 colours would show as black; the
# background alone is 0.
_REDS = (0, 170, 150, 190, 130, 160, 180, 170, 110, 255, 230, 255, 200, 240, 250, 255)
PALETTE = " ".join(
    (
        f"vt.default_red={','.join(map(str, _REDS))}",
        f"vt.default_grn={','.join('0' * 16)}",
        f"vt.default_blu={','.join('0' * 16)}",
    )
)

# Numbers are majors of linux/Documentation/admin-guide/devices.txt, for what is plugged in after
# the unit has started: a name counts only if the kernel's driver is loaded already.
_DEVICES = (
    "char-gpiochip",
    "char-input",
    "char-alsa",
    "char-i2c",
    "char-ttyAMA",
    "char-ttyS",
    "char-ttyUSB",
    "char-ttyACM",
    "char-188",  # USB serial adapters
    "char-166",  # USB modems and microcontrollers
    "/dev/gpiomem",
)


@dataclass(frozen=True, slots=True)
class Service:
    """What is to start by itself.

    ``program`` are the words that run ``dryside``; ``rig`` is a path on the machine; ``groups`` are
    those of the user's that exist there.
    """

    program: tuple[str, ...]
    rig: str
    user: str
    group: str
    groups: tuple[str, ...] = ()
    home: str = HOME
    screen: bool = True
    chip_watchdog: bool = False


def environ_text(service: Service) -> str:
    """Give the file that tells services and commands alike where the unit's things are."""
    return (
        f"{MARK}# Where this machine's Dryside keeps its things. Commands read this too.\n"
        f"{HOME_VARIABLE}={service.home}\n"
        f"{RUN_VARIABLE}={RUN}\n"
    )


def tmpfiles_text(service: Service) -> str:
    """Give the rule that makes the run-time folder at boot, before any service or command."""
    return f"{MARK}d {RUN} 0700 {service.user} {service.group} -\n"


def chip_watchdog_text() -> str:
    """Give the drop-in by which the service manager feeds the chip's watchdog."""
    return f"{MARK}[Manager]\nRuntimeWatchdogSec={CHIP_WATCHDOG_S}\n"


def engine_text(service: Service) -> str:
    """Give the unit file of the engine."""
    run = _line(*service.program, "unit", "run", "--rig", service.rig)
    safe = _line(*service.program, "safe", "--rig", service.rig)
    return f"""\
{MARK}[Unit]
Description=Dryside, the darkroom unit (lamp and safelights, pedal and sounder)
After=local-fs.target systemd-tmpfiles-setup.service sound.target
# A board that is unplugged is tried for ever, slowly: nobody types in the dark.
StartLimitIntervalSec=0

[Service]
Type=notify
NotifyAccess=main
ExecStart={run}
# Runs after every end, a kill by force too: lamp off, safelights as wired.
ExecStopPost={safe}
Restart=on-failure
RestartSec=2
# The lamp is off 0.1 s after the loop hangs; this term only brings a working unit back.
WatchdogSec={WATCHDOG_S}
# A frozen process obeys no other signal, and with a frozen keeper the lamp is on until it dies:
# the usual SIGABRT would give it TimeoutStopSec more.
WatchdogSignal=SIGKILL
# It waits for an engine that somebody started by hand, however long.
TimeoutStartSec=infinity
# The stop action has as long too, and must not be cut off where Python starts slowly.
TimeoutStopSec=90
# The engine ends its keeper in order; what is left after that is killed.
KillMode=mixed
EnvironmentFile={ENVIRON_FILE}
Environment=PYTHONDONTWRITEBYTECODE=1 NO_AT_BRIDGE=1
User={service.user}
Group={service.group}
{_groups(service)}\
UMask=0077
WorkingDirectory={service.home}
RuntimeDirectory=dryside
RuntimeDirectoryMode=0700
# The keeper's journal must outlive a crash: it knows what a sheet really had.
RuntimeDirectoryPreserve=yes
{_state(service)}\
# Punctual edges: the keeper asks for both.
LimitRTPRIO={PRIORITY}
LimitMEMLOCK=infinity
OOMScoreAdjust=-500

NoNewPrivileges=yes
CapabilityBoundingSet=
AmbientCapabilities=
ProtectSystem=strict
ProtectHome={_protect_home(service)}
PrivateTmp=yes
PrivateNetwork=yes
IPAddressDeny=any
RestrictAddressFamilies=AF_UNIX
DevicePolicy=closed
{_devices()}\
ProtectClock=yes
ProtectControlGroups=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
ProtectProc=invisible
RestrictNamespaces=yes
RestrictSUIDSGID=yes
LockPersonality=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged
SystemCallErrorNumber=EPERM
# Not set: RestrictRealtime (the keeper is real-time), MemoryDenyWriteExecute (a talking book's
# sound library makes its callbacks at run time) and RemoveIPC (the user is a person, whose other
# programs keep theirs).

[Install]
WantedBy=multi-user.target
"""


def screen_text(service: Service) -> str:
    """Give the unit file of the red terminal on the machine's first console."""
    run = _line(*service.program, "terminal", "--rig", service.rig)
    return f"""\
{MARK}[Unit]
Description=Dryside, the red terminal on the first console
# Ended with the engine, but an engine needs no screen.
Wants={ENGINE_UNIT}
After={ENGINE_UNIT} systemd-user-sessions.service plymouth-quit-wait.service
Conflicts=getty@tty1.service
After=getty@tty1.service

[Service]
Type=simple
ExecStart={run}
Restart=always
RestartSec=2
EnvironmentFile={ENVIRON_FILE}
Environment=TERM=linux PYTHONDONTWRITEBYTECODE=1
User={service.user}
Group={service.group}
{_groups(service, "tty")}\
UMask=0077
WorkingDirectory={service.home}
StandardInput=tty
StandardOutput=tty
# The red terminal draws there; the journal must not get its colours.
StandardError=tty
TTYPath=/dev/tty1
TTYReset=yes
TTYVHangup=yes
TTYVTDisallocate=yes
{_state(service)}\
LimitRTPRIO={PRIORITY}
LimitMEMLOCK=infinity

NoNewPrivileges=yes
CapabilityBoundingSet=
AmbientCapabilities=
ProtectSystem=strict
ProtectHome={_protect_home(service)}
PrivateTmp=yes
IPAddressDeny=any
RestrictAddressFamilies=AF_UNIX
ProtectClock=yes
ProtectControlGroups=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectProc=invisible
RestrictNamespaces=yes
RestrictSUIDSGID=yes
LockPersonality=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged
SystemCallErrorNumber=EPERM
# Not set: DevicePolicy and ProtectKernelTunables (it switches the panel's light through /sys, and
# starts an engine of its own where the service was stopped).

[Install]
WantedBy=multi-user.target
"""


def _line(*words: str) -> str:
    return " ".join(_quoted(word) for word in words)


def _quoted(word: str) -> str:
    # the manager's own signs: % begins a specifier, $ a variable
    word = word.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%").replace("$", "$$")
    return f'"{word}"' if not word or any(sign in word for sign in " \t'\";") else word


def _groups(service: Service, *more: str) -> str:
    names = [*service.groups, *more]
    return f"SupplementaryGroups={' '.join(names)}\n" if names else ""


def _state(service: Service) -> str:
    if service.home == HOME:
        writable = "StateDirectory=dryside\nStateDirectoryMode=0700\n"
    else:
        writable = f"ReadWritePaths={_quoted(service.home)}\n"
    # not there before the first start; made by the rule for the run-time folder
    return f"{writable}ReadWritePaths=-{RUN}\n"


def _protect_home(service: Service) -> str:
    """Tell how much of /home the unit may see: the program may live there, and the rig."""
    needed = (*service.program, service.rig, service.home)
    inside = any(path.startswith(("/home/", "/root/", "/run/user/")) for path in needed)
    return "read-only" if inside else "yes"


def _devices() -> str:
    return "".join(f"DeviceAllow={device} rw\n" for device in _DEVICES)
