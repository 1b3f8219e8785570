# SPDX-License-Identifier: GPL-3.0-or-later
# Braking torque at the axles over time, stacked by source, with the demand as a line.
#   gnuplot -c plots/brake-torque.gp RESULTS-FOLDER OUT.svg STRATEGY [FROM_S TO_S]
# Reads trace-STRATEGY.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/brake-torque.gp RESULTS-FOLDER OUT.svg STRATEGY [FROM_S TO_S]"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
load here . "style.gp"

# at rest the brakes hold, which is no braking and would hide it on a cycle: nothing is drawn then
moves(torque) = column("speed_kmh") > 0 ? torque : 0
m1(x) = above(column("machine_torque_front_nm"))
m2(x) = m1(x) + above(column("machine_torque_rear_nm"))
f1(x) = m2(x) + column("friction_torque_front_nm")
f2(x) = f1(x) + column("friction_torque_rear_nm")
inside(t) = ARGC < 5 || (t >= ARG4 + 0 && t <= ARG5 + 0)

stats trace using "time_s" nooutput name "T"
stats trace using "demand_nm" nooutput name "D"
from = ARGC >= 5 ? ARG4 + 0 : T_min
to = ARGC >= 5 ? ARG5 + 0 : T_max
fine_x = (to - from) / 800.0
fine_y = D_max / 400.0

set title sprintf("Braking torque by source, strategy '%s'", short(ARG3, 40))
set xlabel "time / s"
set ylabel "retarding torque at the axles / N m"
set y2label "speed / km/h"
set y2tics
set xrange [from:to]
set yrange [0:*]
set y2range [0:*]
t(x) = inside(column("time_s")) ? column("time_s") : NaN

# stacked from the top, so that each band shows its own source; the outline of the whole keeps
# what is narrower than a pixel, which an area would lose
plot trace using (t(0)):(thin(1, t(0), moves(f2(0)))) with filledcurves y1=0 lc rgb FRICTION_REAR title "friction rear", \
     "" using (t(0)):(thin(2, t(0), moves(f1(0)))) with filledcurves y1=0 lc rgb FRICTION_FRONT title "friction front", \
     "" using (t(0)):(thin(3, t(0), moves(m2(0)))) with filledcurves y1=0 lc rgb MACHINE_REAR title "machine rear", \
     "" using (t(0)):(thin(4, t(0), moves(m1(0)))) with filledcurves y1=0 lc rgb MACHINE_FRONT title "machine front", \
     "" using (t(0)):(thin(5, t(0), moves(m2(0)))) with lines lw 1 lc rgb "white" notitle, \
     "" using (t(0)):(thin(8, t(0), moves(f2(0)))) with lines lw 0.5 lc rgb "#777777" notitle, \
     "" using (t(0)):(thin(6, t(0), moves(column("demand_nm")))) with lines lw 1.5 lc rgb INK title "demand", \
     "" using (t(0)):(thin(7, t(0), column("speed_kmh") * D_max / 150.0) * 150.0 / D_max) axes x1y2 with lines dt 2 lw 1.5 lc rgb "#555555" title "speed"
