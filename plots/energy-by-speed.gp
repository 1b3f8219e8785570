# SPDX-License-Identifier: GPL-3.0-or-later
# Where the braking energy went, by range of speed.
#   gnuplot -c plots/energy-by-speed.gp RESULTS-FOLDER OUT.svg STRATEGY
# Reads waterfall.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/energy-by-speed.gp RESULTS-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
high = 600
load here . "style.gp"
rows = folder . "/waterfall.csv"

# the steps of the file in groups that stack: what reached the cells at the bottom
array GROUPS = ["into the cells", "lost on the way to them", "friction: not asked for, lag", "friction: axle split, grip, balance", "friction: limits of machine and battery"]
array PAINT = [MACHINE_FRONT, LOST, FRICTION_REAR, FRICTION_FRONT, "#8c3a00"]
# 0: no part of the stack
group(step) = step eq "cells" ? 1 : \
  strstrt(" tyre_slip driving gear machine_and_inverter auxiliaries battery_resistance ", " " . step . " ") ? 2 : \
  strstrt(" not_asked_for lag realised_outside_sets ", " " . step . " ") ? 3 : \
  strstrt(" axle_split adhesion_and_balance ", " " . step . " ") ? 4 : \
  strstrt(" machine_envelope derating low_speed battery_limit ", " " . step . " ") ? 5 : 0
array SUM[5 * 64]
array START[64]
array STOP[64]
do for [i = 1:64] { START[i] = -1; STOP[i] = 0 }
do for [i = 1:5 * 64] { SUM[i] = 0.0 }
count = 0
is_bin(x) = strcol("strategy") eq as_read(ARG3) && (strcol("speed_to_kmh") ne "" || column("speed_from_kmh") > 0)
bin(from) = count > 0 && START[count] == from ? count : count < 64 ? (count = count + 1, START[count] = from, count) : 64
add(b, g, e) = (STOP[b] = strcol("speed_to_kmh") eq "" ? 1e9 : column("speed_to_kmh"), \
                g > 0 ? (SUM[5 * (b - 1) + g] = SUM[5 * (b - 1) + g] + e) : 0, 0)
stats rows using (is_bin(0) ? add(bin(column("speed_from_kmh")), group(strcol("step")), column("energy_kj")) : 0) nooutput

# losses and gains of a group may be negative: they stack downwards from zero
last = 1
do for [b = 1:count] { do for [g = 1:5] { if (abs(SUM[5 * (b - 1) + g]) > 0) { last = b } } }
set print $BARS
do for [b = 1:last] {
  up = 0.0
  down = 0.0
  line = sprintf("%g %g", START[b], STOP[b])
  do for [g = 1:5] {
    e = SUM[5 * (b - 1) + g]
    low = e >= 0 ? up : down
    if (e >= 0) { up = up + e } else { down = down + e }
    line = line . sprintf(" %.6g %.6g", low, low + e)
  }
  print line
}
set print
unset datafile columnheaders
set datafile separator whitespace

set title sprintf("Braking energy by range of speed, strategy '%s'", short(ARG3, 40))
set xlabel "range of speed / km/h"
set ylabel "energy / kJ"
set xrange [0.4:last + 0.6]
set xtics ()
do for [b = 1:last] { set xtics add (sprintf("%g–%s", START[b], STOP[b] > 1e8 ? "" : sprintf("%g", STOP[b])) b) }
set key at screen 0.5, screen 0.015 center bottom maxrows 3
set bmargin 8
set arrow 1 from graph 0, first 0 to graph 1, first 0 nohead lc rgb INK front
set style fill solid 1.0 border lc rgb INK
plot for [g = 1:5] $BARS using ($0 + 1):(column(2 * g + 1)):($0 + 0.65):($0 + 1.35):(column(2 * g + 1)):(column(2 * g + 2)) with boxxyerror lc rgb PAINT[g] title GROUPS[g]
