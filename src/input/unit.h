/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_UNIT_H
#define BW_UNIT_H

/** The units in which people write numbers, and how each becomes SI. */
struct bw_unit {
  const char *suffix; /**< end of a key or column name, with its underscore; "" for none */
  const char *text;   /**< as printed, "" for none */
  double factor;      /**< SI = (value + shift) x factor */
  double shift;
};

/** Unit that belongs to `name` by its longest known suffix; the unit without suffix if none. */
const struct bw_unit *bw_unit_of_name(const char *name);

/** `value` in `unit` as SI. */
double bw_unit_to_si(const struct bw_unit *unit, double value);

#endif
