# SPDX-License-Identifier: GPL-3.0-or-later
# Adhesion used by the axles over the braking rate, with the limits of the rule.
#   gnuplot -c plots/adhesion.gp RESULTS-FOLDER OUT.svg STRATEGY
# Reads trace-STRATEGY.csv, and summary.csv for the rule's slope. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/adhesion.gp RESULTS-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
layers = 2
load here . "style.gp"

weight(x) = column("axle_load_front_n") + column("axle_load_rear_n")
z(x) = (column("brake_force_front_n") + column("brake_force_rear_n")) / weight(0)
k1(x) = column("brake_force_front_n") / column("axle_load_front_n")
k2(x) = column("brake_force_rear_n") / column("axle_load_rear_n")
braking(y) = column("demand_nm") > 0 && z(0) > 0.005 ? y : NaN
slope = NaN
stats folder . "/summary.csv" using (strcol("strategy") eq as_read(ARG3) ? (slope = column("balance_slope"), 0) : NaN) nooutput
stats trace using (braking(z(0))) nooutput name "Z"

set title sprintf("Adhesion used by the axles, strategy '%s'", short(ARG3, 40))
set xlabel "braking rate z"
set ylabel "adhesion used, brake force / axle load"
edge = 1.15 * Z_max + 0.05
set xrange [0:edge]
set yrange [0:1.4 * edge]
# z >= 0.1 + c (k - 0.2) for k from 0.2 to 0.8, of the cited rule
limit(q) = q >= 0.1 && q <= 0.1 + 0.6 * slope ? 0.2 + (q - 0.1) / slope : NaN

plot limit(x) with lines lw 2 dt 2 lc rgb RULE title sprintf("limit of the rule, slope %.3g", slope), \
     x with lines lw 1 dt 3 lc rgb "#888888" title "both axles alike", \
     trace using (braking(z(0))):(braking(once(1, z(0) / edge, k1(0) / edge / 1.4, k1(0)))) with points pt 7 ps 0.4 lc rgb MACHINE_FRONT title "front axle", \
     "" using (braking(z(0))):(braking(once(2, z(0) / edge, k2(0) / edge / 1.4, k2(0)))) with points pt 8 ps 0.8 lc rgb FRICTION_FRONT title "rear axle"
