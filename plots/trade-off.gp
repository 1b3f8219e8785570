# SPDX-License-Identifier: GPL-3.0-or-later
# Energy into the battery against the deepest dip, with the line of those that none other beats.
#   gnuplot -c plots/trade-off.gp RESULTS-FOLDER OUT.svg [FILE.csv]
# Reads summary.csv, or the FILE.csv named, such as sweep.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 2) {
  print "usage: gnuplot -c plots/trade-off.gp RESULTS-FOLDER OUT.svg [FILE.csv]"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
high = 600
load here . "style.gp"
rows = folder . "/" . (ARGC > 2 && ARG3 ne "" ? ARG3 : "summary.csv")

# strategies in the order of the file
array NAMES[200]
count = 0
number(name, i) = i > count ? (count < 200 ? (count = count + 1, NAMES[count] = name, count) : 200) : NAMES[i] eq name ? i : number(name, i + 1)
found = 0
dip(x) = column("dip_peak_mps2")
energy(x) = column("energy_battery_kj")
is_there(x) = strcol("dip_peak_mps2") ne "" && strcol("energy_battery_kj") ne ""
stats rows using (number(strcol("strategy"), 1)) nooutput
stats rows using (is_there(0) ? dip(0) : NaN) nooutput name "D"
stats rows using (is_there(0) ? energy(0) : NaN) nooutput name "E"
set title (ARGC > 2 && ARG3 ne "summary.csv" ? "Energy against comfort, every run of the sweep" : "Energy against comfort, strategies")
set xlabel "deepest dip / m/s²"
set ylabel "energy into the battery / kJ"
if (!exists("D_records") || D_records == 0) {
  set xrange [0:1]
  set yrange [0:1]
  set label 1 "no run has both figures" at 0.5, 0.5 center
  plot NaN notitle
  exit
}
# the front: at each dip the greatest energy, then by growing dip whoever has more than all before
set table $DIPS
plot rows using (is_there(0) ? dip(0) : NaN):(0) smooth unique
unset table
unset datafile columnheaders
set datafile separator whitespace
stats $DIPS using 1 nooutput name "U"
array X[U_records]
array BEST[U_records]
stats $DIPS using (X[$0 + 1] = $1, BEST[$0 + 1] = -1e300, 0) nooutput
find(x, a, b) = a >= b ? a : (m = int((a + b) / 2), X[m] < x ? find(x, m + 1, b) : find(x, a, m))
set datafile separator ","
set datafile columnheaders
better(k, e) = e > BEST[k] ? (BEST[k] = e, 0) : 0
# what was sorted has been printed with fewer digits: look half a step below
stats rows using (is_there(0) ? better(find(dip(0) * (1 - 1e-5) - 1e-9, 1, U_records), energy(0)) : NaN) nooutput
set print $FRONT
print "dip,energy"
top = -1e300
do for [k = 1:U_records] {
  if (BEST[k] > top) { print sprintf("%.9g,%.9g", X[k], BEST[k]); top = BEST[k] }
}
set print

margin(low, high) = high > low ? 0.06 * (high - low) : 0.1 * abs(high) + 0.1
set xrange [D_min - margin(D_min, D_max) > 0 ? D_min - margin(D_min, D_max) : 0:D_max + margin(D_min, D_max)]
set yrange [E_min - margin(E_min, E_max):E_max + margin(E_min, E_max)]
set key at screen 0.995, screen 0.95 right top vertical maxrows 30 spacing 1.1
set rmargin at screen 0.66
set bmargin 4
shown = count < 24 ? count : 24
small = U_records > 300 ? 0.5 : 1.3
layers = shown
cut_x(x) = (x - D_min) / (D_max > D_min ? D_max - D_min : 1)
cut_y(y) = (y - E_min) / (E_max > E_min ? E_max - E_min : 1)
if (U_records > 300) { array SEEN[layers * WIDE * TALL] }
if (U_records > 300) { do for [i = 1:|SEEN|] { SEEN[i] = 0 } }
seen(i) = U_records > 300 ? once(i, cut_x(dip(0)), cut_y(energy(0)), energy(0)) : energy(0)
plot NaN with lines lc rgb INK lw 1.5 dt 2 title "none beats these in both", \
     for [i = 1:shown] rows using (strcol("strategy") eq NAMES[i] && is_there(0) ? dip(0) : NaN):(seen(i)) with points pt mark_of(i) ps small lw 1.5 lc rgb line_of(i) title short(NAMES[i], 22), \
     $FRONT using 1:2 with steps lc rgb INK lw 1.5 dt 2 notitle
