# SPDX-License-Identifier: GPL-3.0-or-later
# Braking torque at the axles over time, by source, with the demand as a line.
#   gnuplot -c plots/brake-torque.gp RESULTS-FOLDER STRATEGY OUT.svg [FROM_S TO_S]
# Reads trace-STRATEGY.csv of a results folder. OUT may end in .svg or .png.

if (ARGC < 3) {
  print "usage: gnuplot -c plots/brake-torque.gp RESULTS-FOLDER STRATEGY OUT.svg [FROM_S TO_S]"
  exit status 2
}
trace = ARG1 . "/trace-" . ARG2 . ".csv"

if (ARG3[strlen(ARG3) - 3:] eq ".png") {
  set terminal pngcairo size 1000,600 font "sans,11"
} else {
  set terminal svg size 1000,600 dynamic font "sans,13" background "white"
}
set output ARG3
set datafile separator ","
set title sprintf("Braking torque at the axles, strategy '%s'", ARG2) noenhanced
set xlabel "time / s"
set ylabel "retarding torque at the axles / N m"
set y2label "speed / km/h"
set y2tics
set ytics nomirror
set yrange [0:*]
set y2range [0:*]
set grid xtics ytics lc rgb "#dddddd"
set key outside below horizontal
if (ARGC >= 5) {
  set xrange [ARG4 + 0:ARG5 + 0]
}

above(x) = x > 0 ? x : 0
m1(x) = above(column("machine_torque_front_nm"))
m2(x) = m1(x) + above(column("machine_torque_rear_nm"))
f1(x) = m2(x) + column("friction_torque_front_nm")
f2(x) = f1(x) + column("friction_torque_rear_nm")

# stacked from the top, so that each band shows its own source; blue and orange tell apart in grey
plot trace using "time_s":(f2(0)) with filledcurves y1=0 lc rgb "#f0b27a" title "friction rear", \
     "" using "time_s":(f1(0)) with filledcurves y1=0 lc rgb "#d35400" title "friction front", \
     "" using "time_s":(m2(0)) with filledcurves y1=0 lc rgb "#85c1e9" title "machine rear", \
     "" using "time_s":(m1(0)) with filledcurves y1=0 lc rgb "#1f618d" title "machine front", \
     "" using "time_s":"demand_nm" with lines lw 1.5 lc rgb "black" title "demand", \
     "" using "time_s":"speed_kmh" axes x1y2 with lines dt 2 lw 1.5 lc rgb "#555555" title "speed"
