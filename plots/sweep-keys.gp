# SPDX-License-Identifier: GPL-3.0-or-later
# What scripts of a sweep share: which columns of `rows` are keys of its grid, which of them hold
# two numbers or more (AXIS, AXES of them), and the values of such a key, sorted.
unset datafile columnheaders
array HEAD[1024]
do for [i = 1:1024] { HEAD[i] = "" }
keys = 0
ended = 0
is_end(name) = name eq "sample" || name eq "status" || name eq "strategy" || name eq ""
stats rows every ::0::0 using (0) nooutput name "H"
heads = int(H_columns)
stats rows every ::0::0 using (sum [i = 1:heads] (HEAD[i] = strcol(i), 0)) nooutput
do for [i = 1:64] {
  if (is_end(HEAD[i])) { ended = 1 }
  if (ended == 0) { keys = i }
}
set datafile columnheaders
array AXIS[64]
AXES = 0
do for [k = 1:keys] {
  stats rows using (column(k)) nooutput name "K"
  if (exists("K_records") && K_records > 0 && K_max > K_min) {
    AXES = AXES + 1
    AXIS[AXES] = k
  }
  undefine K_*
}
# position of x among the sorted values 1 to n of an axis, the nearest one
find_x(x, a, b) = a >= b ? a : (m = int((a + b) / 2), VALUES_X[m] < x - abs(x) * 1e-4 - 1e-12 ? find_x(x, m + 1, b) : find_x(x, a, m))
find_y(y, a, b) = a >= b ? a : (m = int((a + b) / 2), VALUES_Y[m] < y - abs(y) * 1e-4 - 1e-12 ? find_y(y, m + 1, b) : find_y(y, a, m))
