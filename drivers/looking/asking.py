"""Asking what hangs on a serial port, by words that switch nothing on.

A relay unit's hello makes its outputs safe; a Modbus board is only read. Two cautions remain, so
whoever asks has to name the port: opening it moves DTR and RTS, on which a relay may hang, and
a board of an unknown kind may take any byte for a command.
"""

from __future__ import annotations

from controller.ports import PortFault
from controller.rig.found_parts import Answer, SerialPortFound
from drivers.modbus_port import find_board
from drivers.modbus_talk import Held, Lost
from drivers.relay_port import Lost as UnitLost
from drivers.relay_port import Refusal, Talk

_HELLO_NS = 500_000_000
_TRIES = 2


def asked(path: str) -> SerialPortFound:
    """Ask a port; whatever goes wrong is told, never raised."""
    try:
        talk = Talk(path, answer_ns=_HELLO_NS, tries=_TRIES)
    except UnitLost as lost:
        if "answer" not in str(lost):
            return SerialPortFound(path, Answer.FAULT, str(lost))
    except (Refusal, OSError, ValueError) as error:
        return SerialPortFound(path, Answer.FAULT, str(error))
    else:
        told = f"{talk.board_id}, {len(talk.safe)} outputs"
        talk.close()
        return SerialPortFound(path, Answer.RELAY_UNIT, told, {"port": path})
    try:
        board = find_board(path)
    except (PortFault, Lost, Held, OSError, ValueError) as fault:
        return SerialPortFound(path, Answer.FAULT, str(fault))
    if board is None:
        return SerialPortFound(path, Answer.NOTHING)
    told = f"unit {board.unit}, {board.baud} baud, parity {board.parity}"
    if not board.readable:
        return SerialPortFound(path, Answer.NOTHING, f"{told}, but its coils cannot be read")
    options: dict[str, str | int] = {
        "port": path,
        "unit": board.unit,
        "baud": board.baud,
        "parity": board.parity,
    }
    return SerialPortFound(path, Answer.MODBUS, told, options)
