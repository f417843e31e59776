"""The inspector's and the foreman's days, and a new job, worked through by hand: what is asked, with which default, and what is typed in the end.

Each line is `question [default] < typed`; `=` is the plain command the step ends in;
`<` with nothing behind it is Enter alone. `b` goes back, `l` puts off.
"""

from __future__ import annotations

OTHERS = {
    "a clean walk": (
        "inspector",
        "PROBING",
        """
        walk [A1] <
        walk_end [33] <
        = probe A1 0-33 --started 13:10:05
    """,
    ),
    "a walk that found two voids and stopped": (
        "inspector",
        "PROBING",
        """
        walk [A1] <
        walk_end [33] < void 14.5 3in x 1/2in
        walk_end [33] < void x 3in
        walk_end [33] < fishmouth 20 2in, note wet edge
        walk_end [33] < 25
        = probe A1 'sound 0 ft to 25 ft, void at 14.5 ft, 3 in long, 1/2 in deep, fishmouth at 20 ft, 2 in long, 13:10:05, note wet edge' --yes
    """,
    ),
    "a time within a note is the note's": (
        "inspector",
        "PROBING",
        """
        walk [A1] <
        walk_end [33] < void 14.5 3in, note seen at 10:30
        walk_end [33] <
        = probe A1 'sound 0 ft to 33 ft, void at 14.5 ft, 3 in long, 13:10:05, note seen at 10:30' --yes
    """,
    ),
    "a walk told in one line": (
        "inspector",
        "PROBING",
        """
        walk [A1] <
        walk_end [33] < sound to 20, void 14.5 3in
        = probe A1 'sound to 20 ft, void at 14.5 ft, 3 in long, 13:10:05' --yes
    """,
    ),
    "a mend probed again, in another unit": (
        "inspector",
        "PROBING",
        """
        walk [A1] < A2
        walk_end [15.25] < 5m
        = probe A2 'sound 13.75 ft to 5 m, 13:10:05' --yes
    """,
    ),
    "a seam nobody listed": (
        "inspector",
        "PROBING",
        """
        walk [A1] < Z9
        walk_from [0] <
        walk_end <
        walk_end < 12
        = probe Z9 0-12 --started 13:10:05
    """,
    ),
    "a finding mended": (
        "inspector",
        "PROBING",
        """
        walk [A1] < b
        which [probe] < mend
        mended [F2] <
        method [patch] <
        patch < 12in
        confirm_mend <
        = mend F2 --method patch --patch 12in
    """,
    ),
    "a finding seen by itself": (
        "inspector",
        "PROBING",
        """
        walk [A1] < b
        which [probe] < finding
        found_on < A1
        flaw < scorched
        place < 3-4
        how [seen] <
        confirm_finding <
        = finding A1 scorched 3-4
    """,
    ),
    "a warning answered": (
        "foreman",
        "EVENING",
        """
        settled [R2] <
        what_done < strip S5 good, lap probed
        confirm_settle <
        = settle R2 'strip S5 good, lap probed'
    """,
    ),
    "the evening after a warning is put off": (
        "foreman",
        "EVENING",
        """
        settled [R2] < l
        tomorrow < 55
        = evening --ambient 55
    """,
    ),
    "the seal handed over": (
        "foreman",
        "SEALED",
        """
        tomorrow < l
        hand_to < owner's representative
        hand_how [paper] < ph
        confirm_hand <
        = hand L1 --to 'owner'"'"'s representative' --how photo
    """,
    ),
    "a walk across a T-joint, one found open": (
        "inspector",
        "JOINTED",
        """
        walk [A1] <
        walk_end [33] <
        joint < a1.1t
        joint_flaw < v
        = probe A1 0-33 --started 13:10:05
        = finding A1.1t void 0 --how probed
    """,
    ),
    "a sample cut where it was drawn": (
        "inspector",
        "SAMPLES",
        """
        parted < in the c
        load < 40lbf
        width <
        confirm <
        = peel A3 14.5 --parted 'in the compound' --load 40lbf
    """,
    ),
    "laps hidden by the next ply": (
        "foreman",
        "COVERED",
        """
        covered < A1-A4
        agree_cover <
        agree_cover < yes
        = cover A1-A4
    """,
    ),
    "no job yet": (
        None,
        "NOWHERE",
        """
        job_name < School roof
        units [us] <
        zone [America/Denver] <
        sheet_name [base] <
        machine_name < blue
        dial_shows [ft/min] <
        dial_range [1-25] < 1-20
        person_name < Ana Ruiz
        role [operator] <
        confirm_job <
        = job new 'School roof' --units us --zone America/Denver --sheet base --machine 'blue: ft/min 1-20' --person 'Ana Ruiz: AR, operator'
        = me 'Ana Ruiz'
    """,
    ),
}
