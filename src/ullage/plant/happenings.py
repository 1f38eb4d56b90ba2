"""What is done to the plant from outside at a stated time: taps, hoses, slopes, attitudes, hands on valves."""

from __future__ import annotations

from ullage.control.record import note
from ullage.control.timers import NEVER_MS
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.motors import set_out
from ullage.plant.words import P_ATTITUDE, P_HOSE, P_MOMENT, P_MOVING, P_STAND, P_TAP

(
    H_TAP,  # fixture, how far it is open 0..1
    H_HOSE,  # port, head that stands there [m]
    H_UNHOOK,  # port
    H_STAND,  # stand
    H_MOVING,  # -, 1 the rig moves / 0 stands
    H_ATTITUDE,  # -, attitude
    H_TURN,  # valve turned by hand, how far it is open 0..1
    H_DRIVE,  # motor valve, 1 open / 0 closed: where no controller does
    H_PUMP,  # pump, 1 on / 0 off: where no controller does
    H_MOMENT,  # number of the moment: what the tanks hold then is noted
    H_COMMAND,  # sequence, command
    H_PARAMETER,  # parameter, wish in the law's integers
    H_RESET,  # interlock
) = range(13)

LAW_HAPPENINGS = H_COMMAND
"""From this kind on a happening is for the controller, not for the plant."""


@kernel
def next_happening_ms(n: Integers) -> int:
    """When the next happening is due [ms]."""
    row = of(n, at.NEXT_HAPPENING, 0)
    return of(n, at.HAPPENING_MS, row) if row < n[at.HAPPENINGS] else NEVER_MS


@kernel
def befalls_plant(n: Integers, r: Reals, records: Integers, row: int) -> None:
    """Do one happening to the plant, at the start of its segment (see `events.change`)."""
    kind, part, amount = of(n, at.HAPPENING, row), of(n, at.HAPPENING_PART, row), real(n, r, at.HAPPENING_AMOUNT, row)
    when = r[n[at.TIME]]
    if kind == H_TAP:
        r[n[at.TAP] + part] = amount
        note(records, P_TAP, part, int(1000.0 * amount), 0)
    elif kind == H_HOSE:
        n[n[at.CONNECTED] + part] = 1
        r[n[at.PRESSURE] + part] = amount
        note(records, P_HOSE, part, 1, int(amount * real(n, r, at.WHOLE, 0)))
    elif kind == H_UNHOOK:
        n[n[at.CONNECTED] + part] = 0
        note(records, P_HOSE, part, 0, 0)
    elif kind == H_STAND:
        n[n[at.STAND]] = part
        note(records, P_STAND, part, 1, 0)
    elif kind == H_MOVING:
        n[n[at.MOVING]] = 1 if amount > 0.0 else 0
        for tank in range(n[at.TANKS]):
            r[n[at.MOVED_UNTIL] + tank] = 1e12 if amount > 0.0 else when
        note(records, P_MOVING, 0, of(n, at.MOVING, 0), 0)
    elif kind == H_ATTITUDE:
        n[n[at.ATTITUDE]] = int(amount)
        note(records, P_ATTITUDE, 0, int(amount), 0)
    elif kind == H_TURN:
        set_out(n, r, records, part, when, amount, 0.0)
        note(records, P_TAP, -1 - part, int(1000.0 * amount), 0)
    elif kind == H_DRIVE:
        n[n[at.VALVE_RELAY] + part] = int(amount)
    elif kind == H_PUMP:
        n[n[at.PUMP_RELAY] + part] = int(amount)
    else:
        for tank in range(n[at.TANKS]):
            note(records, P_MOMENT, tank, int(1e6 * real(n, r, at.VOLUME, tank) + 0.5), part)
