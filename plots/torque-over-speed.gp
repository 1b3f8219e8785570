# SPDX-License-Identifier: GPL-3.0-or-later
# Braking torque at the axles over speed, by source: every moment of braking a point.
#   gnuplot -c plots/torque-over-speed.gp RESULTS-FOLDER OUT.svg STRATEGY
# Reads trace-STRATEGY.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/torque-over-speed.gp RESULTS-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
layers = 5
load here . "style.gp"

stats trace using "speed_kmh" nooutput name "V"
stats trace using "demand_nm" nooutput name "D"
set title sprintf("Braking torque over speed, strategy '%s'", short(ARG3, 40))
set xlabel "speed / km/h"
set ylabel "retarding torque at the axles / N m"
set xrange [0:*]
set yrange [0:*]
set key reverse Left
v(x) = column("demand_nm") > 0.01 * D_max ? column("speed_kmh") : NaN
shown(i, torque) = torque > 0.002 * D_max ? once(i, column("speed_kmh") / V_max, torque / D_max / 1.1, torque) : NaN

# a curve without points would be warned of, so it is not named then
array DRAWN[5]
do for [i = 1:5] { DRAWN[i] = 0 }
count(i, torque) = column("demand_nm") > 0.01 * D_max && torque > 0.002 * D_max ? (DRAWN[i] = 1, 0) : 0
stats trace using (count(2, column("friction_torque_rear_nm")) + count(3, column("friction_torque_front_nm"))) nooutput
stats trace using (count(4, column("machine_torque_rear_nm")) + count(5, column("machine_torque_front_nm"))) nooutput
marks(i, name, look, text) = DRAWN[i] ? sprintf(', "" using (v(0)):(shown(%d, column("%s"))) with points %s title "%s"', i, name, look, text) : ""
friction = marks(2, "friction_torque_rear_nm", "pt 8 ps 0.5 lc rgb FRICTION_REAR", "friction rear") . \
  marks(3, "friction_torque_front_nm", "pt 6 ps 0.5 lc rgb FRICTION_FRONT", "friction front")
machines = marks(4, "machine_torque_rear_nm", "pt 9 ps 0.5 lc rgb MACHINE_REAR", "machine rear") . \
  marks(5, "machine_torque_front_nm", "pt 7 ps 0.4 lc rgb MACHINE_FRONT", "machine front")
plot trace using (v(0)):(shown(1, column("demand_nm"))) with points pt 1 ps 0.5 lc rgb "#888888" title "demand" @friction @machines
