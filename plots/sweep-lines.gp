# SPDX-License-Identifier: GPL-3.0-or-later
# A column of the summary over a key of a sweep, a line per strategy.
#   gnuplot -c plots/sweep-lines.gp SWEEP-FOLDER OUT.svg [COLUMN [KEY]]
# Reads sweep.csv. OUT ends in .svg, .png or .pdf.

if (ARGC < 2) {
  print "usage: gnuplot -c plots/sweep-lines.gp SWEEP-FOLDER OUT.svg [COLUMN [KEY]]"
  exit status 2
}
here = ""
do for [i = 1:strlen(ARG0)] { if (ARG0[i:i] eq "/") { here = ARG0[1:i] } }
folder = ARG1
out = ARG2
what = ARGC > 2 ? ARG3 : "energy_battery_kj"
high = 600
array VALUES_X[1]
array VALUES_Y[1]
load here . "style.gp"
rows = folder . "/sweep.csv"
load here . "sweep-keys.gp"

set yrange [-1:1] # of no use here, but gnuplot warns of an empty one
# the key named, else the one with the most values
key_x = 0
most = 0
if (ARGC > 3) {
  do for [k = 1:keys] { if (HEAD[k] eq ARG4) { key_x = k } }
} else {
  do for [a = 1:AXES] {
    set table $XS
    plot rows using (column(AXIS[a])):(0) smooth unique
    unset table
    if (|$XS| > most) { most = |$XS|; key_x = AXIS[a] }
  }
}
if (key_x == 0) {
  print "sweep-lines: sweep.csv has no key of numbers (of this name) to draw lines over"
  exit status 2
}
set table $XS
plot rows using (column(key_x)):(0) smooth unique
unset table
set yrange [*:*]
unset datafile columnheaders
set datafile separator whitespace
stats $XS using 1 nooutput name "X"
array VALUES_X[X_records]
stats $XS using (VALUES_X[$0 + 1] = $1, 0) nooutput
set datafile separator ","
set datafile columnheaders

MOST_LINES = 16
array NAMES[MOST_LINES]
count = 0
left_out = 0
number(name, i) = i > count ? (count < MOST_LINES ? (count = count + 1, NAMES[count] = name, count) : (left_out = 1, 0)) : NAMES[i] eq name ? i : number(name, i + 1)
stats rows using (number(strcol("strategy"), 1)) nooutput

# percentiles by counting: at every value of the key the column's range in BINS steps
stats rows using (strcol(what) ne "" ? column(what) : NaN) nooutput name "W"
if (!exists("W_records") || W_records == 0) {
  set title "no run of the sweep has " . named(what)
  set xrange [0:1]
  set yrange [0:1]
  plot NaN notitle
  exit
}
BINS = 400
width = W_max > W_min ? (W_max - W_min) / BINS : 1.0
array HIST[count * X_records * (BINS + 1)]
array LEAST[count * X_records]
array MOST[count * X_records]
array RUNS[count * X_records]
do for [c = 1:|HIST|] { HIST[c] = 0 }
do for [c = 1:|LEAST|] { LEAST[c] = 1e300; MOST[c] = -1e300; RUNS[c] = 0 }
note(c, b, v) = (HIST[b] = HIST[b] + 1, RUNS[c] = RUNS[c] + 1, LEAST[c] = v < LEAST[c] ? v : LEAST[c], MOST[c] = v > MOST[c] ? v : MOST[c], 0)
take(c, v) = note(c, (c - 1) * (BINS + 1) + 1 + int((v - W_min) / width), v)
place(s) = (s - 1) * X_records + find_x(column(key_x), 1, X_records)
stats rows using (strcol(what) eq "" ? NaN : (s = number(strcol("strategy"), 1), s > 0) ? take(int(place(s)), column(what)) : NaN) nooutput

set print $BANDS
print "strategy,x,p05,p50,p95,runs"
spread = 0
values = int(X_records)
do for [s = 1:count] {
  do for [i = 1:values] {
    c = (s - 1) * values + i
    if (RUNS[c] > 0) {
      # few runs are shown from the least to the greatest, and counted whole
      low = LEAST[c]
      high_end = MOST[c]
      middle = 0.5 * (LEAST[c] + MOST[c])
      seen = 0
      got = 0
      do for [b = 0:BINS] {
        n = HIST[(c - 1) * (BINS + 1) + 1 + b]
        if (n > 0) {
          v = W_min + (b + 0.5) * width
          v = v < LEAST[c] ? LEAST[c] : v > MOST[c] ? MOST[c] : v
          if (seen < 0.05 * RUNS[c] && seen + n >= 0.05 * RUNS[c] && RUNS[c] >= 20) { low = v }
          if (got == 0 && seen + n >= 0.5 * RUNS[c]) { middle = v; got = 1 }
          if (seen < 0.95 * RUNS[c] && seen + n >= 0.95 * RUNS[c] && RUNS[c] >= 20) { high_end = v }
          seen = seen + n
        }
      }
      if (RUNS[c] == 1) { middle = LEAST[c] }
      if (RUNS[c] == 2) { middle = 0.5 * (LEAST[c] + MOST[c]) }
      if (MOST[c] > LEAST[c]) { spread = RUNS[c] >= 20 ? 2 : spread > 0 ? spread : 1 }
      print sprintf("%d,%.9g,%.9g,%.9g,%.9g,%d", s, VALUES_X[i], low, middle, high_end, RUNS[c])
    }
  }
}
set print
set title sprintf("%s over %s", named(what), named(HEAD[key_x])) . (spread == 2 ? ": median, and 5 % to 95 % of the runs" : spread == 1 ? ": median, least and greatest" : "") . (left_out ? sprintf(", the first %d strategies", MOST_LINES) : "")
set xlabel labelled(HEAD[key_x])
set ylabel labelled(what)
set xrange [VALUES_X[1]:VALUES_X[values]]
set offsets graph 0.02, graph 0.02, graph 0.05, graph 0.05
in_key = count > 8 ? int((count + 3) / 4) : 2
set key at screen 0.5, screen 0.015 center bottom maxrows in_key
set bmargin (4.5 + in_key)
set style fill transparent solid 0.22 noborder
plot for [s = 1:count] $BANDS using (column("strategy") == s ? column("x") : NaN):"p05":"p95" with filledcurves lc rgb line_of(s) notitle, \
     for [s = 1:count] $BANDS using (column("strategy") == s ? column("x") : NaN):"p50" with linespoints lw 2 dt dash_of(s) pt mark_of(s) ps 0.8 lc rgb line_of(s) title short(NAMES[s], 24)
