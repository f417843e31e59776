"""A day on which nearly every kind of thing is recorded once, in round numbers."""

DAY = """
06:40 limit set bleed_low 1/8 --source "sheet maker"
06:40 sheet add "cap: mineral cap" --thickness 4mm --roll-width 40in --roll-length 33ft --peel-least 20lbf/in --peel-source "spec 7"
06:40 machine add "red: mark 0-10 step 1" --mark "8=4m/min" --mark "2=1m/min" --rated-voltage 230 --nozzle-range 200C-600C
06:40 instrument add "tape: tape, checked 2026-05-04, due 2027-05-04"
06:40 area add "North 60ft x 20ft"
06:40 seam add N1 --length 30ft --place "row 1"
06:41 roll add L-7 --storage "upright, covered" --conditioned "24 h at 60F" --at 06:31
06:42 substrate North --dry yes --primed no --note "ponding at the drain"
06:45 hotwork start --permit 4711 --extinguisher "2-A at the machine" --deck steel --watch 1h --watch-source "permit 4711" --primer-wet no
06:50 conditions --ambient 50F --sheet-temp 68F --under-temp 59F --humidity 60 --wind 10mph --gust 20mph --roll-temp 41F --line-voltage 228 --damp no --sky clear --supply generator --instrument tape
07:00 strip record --nozzle 932 --speed 5 --bleed 1/4,1/8,0 --bubbling trace --smoke no --exposed-mat yes --roll-lot L-7 --note "gusts" --machine blue --sheet base --lap granules --nozzle-measured 914F --by "Ben Okoro"
07:30 strip pull S1 good --parted lap --bonded-width 2in --by "Ben Okoro" --at 07:15
08:00 seam start N1 --nozzle 932 --speed 5 --from 3 --machine blue --sheet base --lap granules
09:30 seam finish N1 --to 30 --at 08:10 --why "end of roll" --power-lost
09:31 bleed N1 10 1/4,1/8 --bubbling none --note "at the lap's end"
09:32 width N1 10 4in --bonded 3in
09:40 probe N1 3-30 --started 09:35 --by "Ben Okoro"
09:41 finding N1 scorched 12-15 --how cut --depth 1/2in --by "Ben Okoro"
09:42 mend F1 --method patch --patch 8in --tool "hand tool 2" --nozzle 500C --by "Ben Okoro"
09:43 peel N1 20 --parted compound --load 40lbf --width 2in --sample-temp 73.4F --pull-rate 4in/min
09:44 peel S1 --parted lap --line-load 10lbf/in
09:45 machine measure blue --mark 5.5 --distance 20ft --time 218s,220s,222s
09:46 machine cause blue "nozzle cleaned" --note "black"
09:46 machine repaired blue "new element"
09:47 roll doubt L-7 --why "granules come off"
09:48 punch add "N1 20ft" "mend the fishmouth" --visitor "owner" --by "Ben Okoro"
09:49 punch settle V1 "patched" --by "Ben Okoro"
09:50 roof north y+
09:51 sample draw --count 1 --seed 7
09:53 open-up A1 --note "leak"
10:00 hotwork end
11:00 hotwork watch --found nothing
"""
