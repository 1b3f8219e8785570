# SPDX-License-Identifier: GPL-3.0-or-later
# Front-rear plane of the brake forces, with the ideal parabola and lines of constant z.
#   gnuplot -c plots/force-plane.gp RESULTS-FOLDER OUT.svg STRATEGY
# Reads trace-STRATEGY.csv, and summary.csv for the slope of the rule. The parabola comes from the axle loads in the trace (level road). OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/force-plane.gp RESULTS-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
strategy = ARG3
high = 700
layers = 1
load here . "style.gp"

weight(x) = column("axle_load_front_n") + column("axle_load_rear_n")
front(x) = column("brake_force_front_n") / weight(0)
rear(x) = column("brake_force_rear_n") / weight(0)
z(x) = front(0) + rear(0)
braking(y) = column("demand_nm") > 0 && z(0) > 0.005 ? y : NaN
# front share of the load = a + b deceleration / g: what a rigid car on level road does
stats trace using (braking(z(0))) nooutput name "Z"
stats trace using (braking(column("deceleration_mps2") / 9.80665)):(braking(column("axle_load_front_n") / weight(0))) nooutput name "L"
has_parabola = L_records > 20 && L_max_x - L_min_x > 0.05 && L_correlation > 0.99

slope = NaN
stats folder . "/summary.csv" using (strcol("strategy") eq as_read(ARG3) && strcol("balance_slope") ne "" ? (slope = column("balance_slope"), 0) : NaN) nooutput
has_rule = has_parabola && slope == slope
set key maxrows 3
set bmargin 7.5
set title sprintf("Brake forces of the axles, strategy '%s'", short(ARG3, 40))
set xlabel "front brake force / weight"
set ylabel "rear brake force / weight"
edge = 1.15 * Z_max + 0.05
set xrange [0:edge]
set yrange [0:0.6 * edge]
set size ratio -1
set samples 200
# share(z) z is the front force where both axles use the same adhesion
ideal_front(q) = (L_intercept + L_slope * q) * q
ideal_rear(q) = q - ideal_front(q)
# the rule, on each axle: adhesion used at braking rate q no more than 0.2 + (q - 0.1) / slope, up to
# a grip of 0.8; and, from q = 0.15 to 0.8, the front axle's no less than the rear's: at or below
# the ideal line
used(q) = q < 0.1 ? NaN : q <= 0.1 + 0.6 * slope ? 0.2 + (q - 0.1) / slope : NaN
front_limit(q) = (L_intercept + L_slope * q) * used(q)
rear_limit(q) = (1 - L_intercept - L_slope * q) * used(q)
shown(part, q) = has_rule && part <= q && part >= 0 ? part : NaN
# the corridor by lines of constant z between the greatest front force and the ideal line
corridor_low(q) = q - front_limit(q) > 0 ? q - front_limit(q) : 0
q_low = 0.15
q_high = 0.8 < 0.1 + 0.6 * slope ? 0.8 : 0.1 + 0.6 * slope
if (has_rule) {
  set print $CORRIDOR
  print "front,rear"
  steps = 60
  do for [i = 0:steps] { q = q_low + (q_high - q_low) * i / steps; print sprintf("%.6g,%.6g", ideal_front(q), ideal_rear(q)) }
  do for [i = 0:steps] { q = q_high - (q_high - q_low) * i / steps; print sprintf("%.6g,%.6g", q - corridor_low(q), corridor_low(q)) }
  set print
}
set parametric
set trange [0:1.2]
step = edge > 0.6 ? 0.2 : edge > 0.3 ? 0.1 : 0.05
do for [i = 1:10] {
  q = i * step
  if (q < 1.45 * edge) { set label i sprintf("z = %.2g", q) at first (q > 0.55 * edge ? q - 0.55 * edge : 0) + 0.01 * edge, first (q > 0.55 * edge ? 0.55 * edge : q) left font ",9" textcolor rgb "#666666" }
}
if (!has_rule) {
  set print $CORRIDOR
  print "front,rear"
  print "-1,-1"
  set print
}
plot $CORRIDOR using "front":"rear" with filledcurves closed fc rgb "#d5efe6" fs solid noborder title (has_rule ? sprintf("allowed by rule (slope %.3g) and order", slope) : ""), \
     for [i = 1:10] i * step * t / 1.2, i * step * (1 - t / 1.2) with lines lw 1 dt 3 lc rgb "#aaaaaa" notitle, \
     (has_parabola ? ideal_front(t) : NaN), (has_parabola ? ideal_rear(t) : NaN) with lines lw 2 dt 2 lc rgb RULE title (has_parabola ? "both axles use the same adhesion" : ""), \
     shown(front_limit(t), t), t - shown(front_limit(t), t) with lines lw 2 dt 4 lc rgb RULE title (has_rule ? "line of the rule, front axle" : ""), \
     t - shown(rear_limit(t), t), shown(rear_limit(t), t) with lines lw 2 dt 3 lc rgb "#7a4fa0" title (has_rule ? "line of the rule, rear axle" : ""), \
     trace using (braking(front(0))):(braking(once(1, front(0) / edge, rear(0) / edge / 0.6, rear(0)))) with points pt 7 ps 0.35 lc rgb INK title "the run"
