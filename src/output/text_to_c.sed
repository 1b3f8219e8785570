# SPDX-License-Identifier: GPL-3.0-or-later
# each line of a text becomes a C string with a comma behind it
s/[\\"]/\\&/g
s/.*/"&\\n",/
