# SPDX-License-Identifier: GPL-3.0-or-later
# The hand-over with the deepest dip: demand, braking and the deficit between them, jerk below.
#   gnuplot -c plots/hand-over.gp RESULTS-FOLDER OUT.svg STRATEGY
# Reads handovers.csv, trace-STRATEGY.csv, and the felt line in resolved.cfg. OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/hand-over.gp RESULTS-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
high = 640
load here . "style.gp"

deepest = -1.0
stats trace using "time_s" nooutput name "T"
from = 0.0
to = 0.0
note(dip) = dip > deepest ? (deepest = dip, from = column("start_s"), to = column("end_s"), 0) : 0
stats folder . "/handovers.csv" using (strcol("strategy") eq as_read(ARG3) ? note(column("dip_peak_mps2")) : 0) nooutput
if (deepest < 0) {
  set title sprintf("Strategy '%s' has no hand-over", short(ARG3, 40))
  unset border
  unset tics
  set xrange [0:1]
  set yrange [0:1]
  set label 1 "no hand-over in this run" at 0.5, 0.5 center
  plot NaN notitle
  exit
}
# felt line: the smallest dip that a driver notices, as torque by what one m/s² takes here
felt = 0.0
unset datafile columnheaders
set datafile separator whitespace
set datafile commentschars "#"
stats folder . "/resolved.cfg" using (strcol(1) eq "felt_line_g" ? (felt = 9.80665 * real(until(strcol(3), ";")), 0) : 0) nooutput
set datafile separator ","
set datafile columnheaders
friction(x) = column("friction_torque_front_nm") + column("friction_torque_rear_nm")
machine(x) = above(column("machine_torque_front_nm")) + above(column("machine_torque_rear_nm"))
delivered(x) = friction(0) + machine(0)
moving(y) = column("time_s") >= from && column("time_s") <= to ? y : NaN
stats trace using (moving(column("deceleration_mps2"))):(moving(delivered(0))) nooutput name "M"
has_felt = exists("M_slope") && M_slope > 0 && felt > 0
felt_torque = has_felt ? felt * M_slope : 0.0
margin = 0.6 * (to - from) + 0.3
t(x) = abs(column("time_s") - 0.5 * (from + to)) <= 0.5 * (to - from) + margin ? column("time_s") : NaN

set xrange [from - margin > T_min ? from - margin : T_min:to + margin < T_max ? to + margin : T_max]
was_t = NaN
was_a = NaN
jerk(now, a) = (j = now > was_t ? -(a - was_a) / (now - was_t) : NaN, was_t = now, was_a = a, j)
# scaled by the hand-over itself: the jolt at rest would hide it
hard = 1.0
harder(now, j) = now >= from && now <= to && abs(j) > hard ? (hard = abs(j), 0) : 0
stats trace using (harder(column("time_s"), jerk(column("time_s"), column("deceleration_mps2")))) nooutput
was_t = NaN
set multiplot
set lmargin 12
set rmargin 4
set tmargin at screen 0.93
set bmargin at screen 0.45
set title sprintf("Hand-over with the deepest dip (%.2f m/s²), strategy '%s'", deepest, short(ARG3, 40))
set ylabel "torque at the axles / N m"
set yrange [0:*]
set format x ""
set key at screen 0.5, screen 0.035 center bottom maxrows 1
set object 1 rectangle from first from, graph 0 to first to, graph 1 fc rgb "#eeeeee" fs solid noborder behind
plot trace using (t(0)):"demand_nm":(bounded(delivered(0), 0, column("demand_nm"))) with filledcurves lc rgb "#f7b6c8" title "deficit", \
     "" using (t(0)):(machine(0)) with lines lw 2 dt 4 lc rgb MACHINE_FRONT title "machines", \
     "" using (t(0)):(friction(0)) with lines lw 2 dt 2 lc rgb FRICTION_FRONT title "friction", \
     "" using (t(0)):(delivered(0)) with lines lw 2.5 lc rgb INK title "delivered", \
     "" using (t(0)):"demand_nm" with lines lw 1.5 dt 3 lc rgb INK title "demand", \
     "" using (t(0)):(has_felt ? column("demand_nm") - felt_torque : NaN) with lines lw 1 lc rgb "#cc3366" title (has_felt ? "felt line" : "")
unset title
unset key
set format x "%g"
set tmargin at screen 0.42
set bmargin at screen 0.17
set xlabel "time / s"
set ylabel "jerk, unfiltered / m/s³"
set yrange [-1.3 * hard:1.3 * hard]
set object 1 rectangle from first from, graph 0 to first to, graph 1 fc rgb "#eeeeee" fs solid noborder behind
plot trace using (t(0)):(jerk(column("time_s"), column("deceleration_mps2"))) with lines lw 1.5 lc rgb INK notitle
unset multiplot
