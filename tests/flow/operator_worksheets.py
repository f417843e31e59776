"""The operator's days worked through by hand: what is asked, with which default, and what is typed in the end.

Each line is `question [default] < typed`; `=` is the plain command the step ends in;
`<` with nothing behind it is Enter alone. `b` goes back, `l` puts off.
"""

from __future__ import annotations

OPERATOR = {
    "a morning's conditions": (
        "operator",
        "BARE",
        """
        ambient < 61
        sheet_temp < 74F
        wind < 5mph
        humidity <
        confirm_conditions <
        = conditions --ambient 61 --sheet-temp 74F --wind 5mph
    """,
    ),
    "the voltage, where it was read before; damp, where the air is humid": (
        "operator",
        "VOLTS",
        """
        ambient < 61
        sheet_temp <
        wind <
        humidity < 92
        line_voltage < 228
        supply < generator 2
        damp < n
        confirm_conditions <
        = conditions --ambient 61 --humidity 92 --line-voltage 228 --supply 'generator 2' --damp no
    """,
    ),
    "damp once, and looked at again; each is left out by Enter": (
        "operator",
        "DAMP",
        """
        ambient <
        sheet_temp <
        wind <
        humidity <
        damp < yes
        confirm_conditions <
        = conditions --damp yes
    """,
    ),
    "nothing read is nothing recorded": (
        "operator",
        "BARE",
        """
        ambient <
        sheet_temp <
        wind <
        humidity <
        =
    """,
    ),
    "cautions before the first hot step": (
        "operator",
        "READ",
        """
        cautions <
        = cautions
    """,
    ),
    "a strip, conditions carried over": (
        "operator",
        "HOT",
        """
        still [yes] <
        nozzle [932F] <
        speed [6] <
        readings < 1/4,3/16,5/16,1/4
        bubbling < n
        confirm_strip <
        = strip record --nozzle 932F --speed 6 --bleed 1/4,3/16,5/16,1/4 --bubbling none --bond 'not tried'
        = dial
    """,
    ),
    "the first strip of all starts from what was advised": (
        "operator",
        "FIRST",
        """
        still [yes] <
        nozzle [932] <
        speed [6] <
    """,
    ),
    "only what has changed is typed": (
        "operator",
        "HOT",
        """
        still [yes] < n
        ambient [61F] <
        sheet_temp [74F] < 88
        wind <
        humidity <
        nozzle [932F] < 900
        speed < 5 1/2
        readings < 6mm
        bubbling < trace
        confirm_strip <
        = strip record --sheet-temp 88 --nozzle 900 --speed '5 1/2' --bleed 6mm --bubbling trace --bond 'not tried'
        = dial
    """,
    ),
    "mistakes are asked again, back is one back": (
        "operator",
        "HOT",
        """
        still [yes] < maybe
        still [yes] < y
        nozzle [932F] < 9320
        nozzle [932F] < b
        still [yes] <
        nozzle [932F] <
        speed [6] < fast
        speed [6] <
        readings <
        readings < 0
        bubbling <
        bubbling < h
        confirm_strip < b
        bubbling < heavy
        confirm_strip <
        = strip record --nozzle 932F --speed 6 --bleed 0 --bubbling heavy --bond 'not tried'
        = dial
    """,
    ),
    "a strip is pulled when cold": (
        "operator",
        "PULL",
        """
        bond <
        bond < g
        parted < 1
        confirm_pull <
        = strip pull S1 good --parted 'in the compound'
    """,
    ),
    "a pull put off lets the strip come next": (
        "operator",
        "PULL",
        """
        bond < l
        still [yes] < b
        which [strip] < pull
        bond < cold
        parted <
        confirm_pull <
        = strip pull S1 cold
    """,
    ),
    "a lap at the go-ahead's setting": (
        "operator",
        "GOOD",
        """
        weld [A1] <
        same_setting [yes] <
        = seam start A1 --nozzle 932F --speed 5.5ft/min
    """,
    ),
    "a lap gone on with, otherwise set": (
        "operator",
        "GOOD",
        """
        weld [A1] < a2
        start [20] <
        same_setting [yes] < no
        nozzle [932F] <
        speed [5.5ft/min] < 6
        confirm_start <
        = seam start A2 --from 20 --nozzle 932F --speed 6
    """,
    ),
    "a bleed check while it is welded": (
        "operator",
        "WELDING",
        """
        lap_what [check] <
        at < 14
        readings < 3/16,1/4
        confirm_check <
        = bleed A1 14 3/16,1/4
    """,
    ),
    "a lap finished at its end": (
        "operator",
        "CHECKED",
        """
        lap_what [finish] <
        end <
        end < 33
        = seam finish A1 --to 33
    """,
    ),
    "the power went": (
        "operator",
        "CHECKED",
        """
        lap_what [finish] <
        end < 20
        stopped [a stop] < p
        = seam finish A1 --to 20 --power-lost
    """,
    ),
    "after the power was lost a new strip comes next": (
        "operator",
        "VOID",
        """
        still [yes] < b
        which [strip] < b
        which [strip] <
        still [yes] <
    """,
    ),
    "readings parted by spaces": (
        "operator",
        "WELDING",
        """
        lap_what [check] <
        at < 14 1/2
        readings < 3/16 1/4  5/16
        confirm_check <
        = bleed A1 '14 1/2' 3/16,1/4,5/16
    """,
    ),
    "the voltage before the first speed, and what feeds the machine": (
        "operator",
        "HOT_COLD",
        """
        line_voltage < 228
        supply <
        = conditions --line-voltage 228
        = dial
    """,
    ),
    "no voltage read: the speed all the same": (
        "operator",
        "HOT_COLD",
        """
        line_voltage <
        = dial
    """,
    ),
    "a permit, told where the cautions are read": (
        "operator",
        "READ",
        """
        cautions < 4711
        extinguisher < 2-A at the machine
        deck < steel
        watch < 60min
        confirm <
        = cautions
        = hotwork start --extinguisher '2-A at the machine' --deck steel --watch 60min --permit 4711 --watch-source 'permit 4711'
    """,
    ),
    "no permit: a word is none": (
        "operator",
        "READ",
        """
        cautions < none
        cautions < y
        = cautions
    """,
    ),
    "gusts where it blows, a roll's temperature where it is cold": (
        "operator",
        "BARE",
        """
        ambient < 41
        sheet_temp < 44
        wind < 20mph
        humidity <
        gust < 28mph
        roll_temp < 55
        confirm_conditions <
        = conditions --ambient 41 --sheet-temp 44 --wind 20mph --gust 28mph --roll-temp 55
    """,
    ),
    "a new roll's lot, or none": (
        "operator",
        "ROLLS",
        """
        weld [A1] <
        roll_lot < L-2
        same_setting [yes] < b
        roll_lot <
        same_setting [yes] <
        = seam start A1 --nozzle 932F --speed 5.5ft/min
    """,
    ),
    "a new roll's lot": (
        "operator",
        "ROLLS",
        """
        weld [A1] <
        roll_lot < l-2
        same_setting [yes] <
        = seam start A1 --roll-lot L-2 --nozzle 932F --speed 5.5ft/min
    """,
    ),
    "a strip by hand before the first detail": (
        "operator",
        "DETAIL",
        """
        tool < iron 2
        nozzle < 932
        bubbling <
        bubbling < n
        confirm_hand_strip <
        = strip record --tool 'iron 2' --nozzle 932 --bubbling none --by-hand --bond 'not tried'
    """,
    ),
    "hot work over": (
        "operator",
        "HOT_WORK",
        """
        ended [no] < yes
        confirm < 7:05
        = hotwork end H2 --at 07:05:00
    """,
    ),
    "the watch after hot work": (
        "operator",
        "HOT_WORK",
        """
        ended [no] < l
        watch_found < nothing
        confirm <
        = hotwork watch H1 --found nothing
    """,
    ),
}
