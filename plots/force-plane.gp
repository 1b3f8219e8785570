# SPDX-License-Identifier: GPL-3.0-or-later
# Front-rear plane of the brake forces, with the ideal parabola and lines of constant z.
#   gnuplot -c plots/force-plane.gp RESULTS-FOLDER OUT.svg STRATEGY
# Reads trace-STRATEGY.csv. The parabola comes from the axle loads in the trace (level road). OUT ends in .svg, .png or .pdf.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/force-plane.gp RESULTS-FOLDER OUT.svg STRATEGY"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
high = 640
load here . "style.gp"
trace = folder . "/trace-" . ARG3 . ".csv"

weight(x) = column("axle_load_front_n") + column("axle_load_rear_n")
front(x) = column("brake_force_front_n") / weight(0)
rear(x) = column("brake_force_rear_n") / weight(0)
z(x) = front(0) + rear(0)
braking(y) = column("demand_nm") > 0 && z(0) > 0.005 ? y : NaN
# front share of the load = a + b deceleration / g: what a rigid car on level road does
stats trace using (braking(z(0))) nooutput name "Z"
stats trace using (braking(column("deceleration_mps2") / 9.80665)):(braking(column("axle_load_front_n") / weight(0))) nooutput name "L"
has_parabola = L_records > 20 && L_max_x - L_min_x > 0.05 && L_correlation > 0.99

set key maxrows 1
set title sprintf("Brake forces of the axles, strategy '%s'", ARG3)
set xlabel "front brake force / weight"
set ylabel "rear brake force / weight"
fine_x = 0.002
fine_y = 0.002
edge = 1.15 * Z_max + 0.05
set xrange [0:edge]
set yrange [0:0.6 * edge]
set size ratio -1
set samples 200
# share(z) z is the front force where both axles use the same adhesion
ideal_front(q) = (L_intercept + L_slope * q) * q
ideal_rear(q) = q - ideal_front(q)
set parametric
set trange [0:1.2]
step = edge > 0.6 ? 0.2 : edge > 0.3 ? 0.1 : 0.05
do for [i = 1:10] {
  q = i * step
  if (q < edge) { set label i sprintf("z = %.2g", q) at first (q > 0.55 * edge ? q - 0.55 * edge : 0) + 0.01 * edge, first (q > 0.55 * edge ? 0.55 * edge : q) left font ",9" textcolor rgb "#666666" }
}
plot for [i = 1:10] i * step * t / 1.2, i * step * (1 - t / 1.2) with lines lw 1 dt 3 lc rgb "#aaaaaa" notitle, \
     (has_parabola ? ideal_front(t) : NaN), (has_parabola ? ideal_rear(t) : NaN) with lines lw 2 dt 2 lc rgb RULE title (has_parabola ? "both axles use the same adhesion" : ""), \
     trace using (braking(front(0))):(braking(thin(1, front(0), rear(0)))) with points pt 7 ps 0.35 lc rgb INK title "the run"
