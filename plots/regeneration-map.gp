# SPDX-License-Identifier: GPL-3.0-or-later
# Allowed regeneration over speed and state of charge, and which limit binds where.
#   gnuplot -c plots/regeneration-map.gp RESULTS-FOLDER OUT.svg
# Reads regeneration-map.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 2) {
  print "usage: gnuplot -c plots/regeneration-map.gp RESULTS-FOLDER OUT.svg"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
high = 600
load here . "style.gp"
rows = folder . "/regeneration-map.csv"

stats rows using "speed_kmh" nooutput name "V"
stats rows using "soc_percent" nooutput name "S"
stats rows using "axle_power_kw" nooutput name "P"
# the file holds one speed after the other, charge by charge
columns = 0
stats rows using (column("soc_percent") == S_min ? (columns = columns + 1, 0) : 0) nooutput
lines = V_records / columns
step_v = (V_max - V_min) / (columns - 1)
step_s = (S_max - S_min) / (lines - 1)
array POWER[columns * lines]
array LIMIT[columns * lines]
at = 0
stats rows using (at = at + 1, POWER[at] = column("axle_power_kw"), LIMIT[at] = strcol("limited_by"), 0) nooutput

unset datafile columnheaders
set datafile separator whitespace
set print $GRID
do for [k = 0:lines - 1] {
  do for [i = 0:columns - 1] { print V_min + i * step_v, S_min + k * step_s, POWER[1 + k * columns + i] }
  print ""
}
# colours fill the cells between the points of the file, so that they end where the axes do
set print $CELLS
do for [k = 0:lines - 2] {
  do for [i = 0:columns - 2] {
    n = 1 + k * columns + i
    print V_min + (i + 0.5) * step_v, S_min + (k + 0.5) * step_s, 0.25 * (POWER[n] + POWER[n + 1] + POWER[n + columns] + POWER[n + columns + 1])
  }
  print ""
}
set print $EDGES
do for [k = 0:lines - 1] {
  do for [i = 0:columns - 1] {
    n = 1 + k * columns + i
    x = V_min + (i + 0.5) * step_v
    y = S_min + (k + 0.5) * step_s
    if (i + 1 < columns) { if (LIMIT[n] ne LIMIT[n + 1]) { print x, y - step_s, 0, step_s } }
    if (k + 1 < lines) { if (LIMIT[n] ne LIMIT[n + columns]) { print x - step_v, y, step_v, 0 } }
  }
}
print V_min, S_min, 0, 0
set print
set contour base
unset surface
set cntrparam levels auto 7
set table $CONTOURS
splot $GRID using 1:2:3 with lines
unset table
set surface

set title "Allowed regeneration, power at the axles"
set xlabel "speed / km/h"
set ylabel "state of charge / %"
set cblabel "braking power of the machines / kW"
set xrange [V_min:V_max]
set yrange [S_min:S_max]
set cbrange [0:P_max]
set bmargin 6.5
set key at screen 0.5, screen 0.015 center bottom maxrows 1
unset grid
eval "set palette defined (" . MORE_IS_BETTER . ")"
name_of(l) = l eq "peak_torque" ? "machine: torque" : l eq "peak_power" ? "machine: power" : l eq "field" ? "machine: breakdown" : \
  l eq "speed" ? "machine: speed" : l eq "low_speed" ? "low speed" : l eq "derating" ? "machine: heat" : \
  l eq "charge_current" ? "battery: current" : l eq "charge_voltage" ? "battery: voltage" : l
# a region's name stands in the middle of its widest row
array KINDS = ["peak_torque", "peak_power", "field", "speed", "low_speed", "derating", "charge_current", "charge_voltage"]
do for [j = 1:|KINDS|] {
  best = 0
  do for [k = 0:lines - 1] {
    run = 0
    do for [i = 0:columns - 1] {
      run = LIMIT[1 + k * columns + i] eq KINDS[j] ? run + 1 : 0
      better = run > best || (run == best && run > 0 && abs(k - 0.55 * lines) < abs(best_k - 0.55 * lines))
      if (better) { best = run; best_i = i - 0.5 * run + 0.5; best_k = k }
    }
  }
  if (best > 2) {
    narrow = best < 0.12 * columns
    if (best_k > lines - 3) { best_k = lines - 2 }
    set label j name_of(KINDS[j]) at V_min + best_i * step_v, S_min + best_k * step_s center front rotate by (narrow ? 90 : 0) font ",10" textcolor rgb INK
    # a box of its own: the SVG terminal draws no boxed labels
    across = 0.75 * strlen(name_of(KINDS[j])) + 1
    set object j rectangle center V_min + best_i * step_v, S_min + best_k * step_s size character (narrow ? 1.4 : across), character (narrow ? 0.5 * across : 1.1) front fc rgb "#ffffff" fs solid noborder
  }
}
plot $CELLS using 1:2:3 with image notitle, \
     $CONTOURS using 1:2 with lines lw 0.8 dt 3 lc rgb "#333333" title "equal power", \
     $EDGES using 1:2:3:4 with vectors nohead lw 2 lc rgb INK title "another limit binds"
