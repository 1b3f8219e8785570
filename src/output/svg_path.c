/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/svg_path.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { NUMBER_LENGTH = 24, FURTHEST = 100000 };

static bool is_gap(char c) {
  return c == ' ' || c == ',' || c == '\n' || c == '\r' || c == '\t';
}

static const char *skip_gap(const char *at, const char *end) {
  while (at < end && is_gap(*at)) {
    at++;
  }
  return at;
}

/* a number in the span, which need not end in a NUL */
static bool take_number(const char **at, const char *end, double *number) {
  char text[NUMBER_LENGTH + 1];
  size_t length = 0;
  const char *from = skip_gap(*at, end);
  while (from + length < end && length < NUMBER_LENGTH &&
         strchr("+-.0123456789", from[length]) != NULL && from[length] != '\0') {
    text[length] = from[length];
    length++;
  }
  text[length] = '\0';
  char *rest = NULL;
  *number = strtod(text, &rest);
  *at = from + (rest - text);
  return rest != text && fabs(*number) <= FURTHEST;
}

static bool take_point(const char **at, const char *end, struct bw_tenths *point) {
  double x = 0.0;
  double y = 0.0;
  if (!take_number(at, end, &x) || !take_number(at, end, &y)) {
    return false;
  }
  *point = (struct bw_tenths){lround(10.0 * x), lround(10.0 * y)};
  return true;
}

bool bw_svg_is_plain_path(struct bw_span data) {
  const char *end = data.at + data.length;
  const char *at = skip_gap(data.at, end);
  struct bw_tenths point;
  bool is_plain = at < end && *at == 'M';
  while (is_plain && at < end) {
    const char command = *at++;
    is_plain =
        command == 'Z' || ((command == 'M' || command == 'L') && take_point(&at, end, &point));
    at = skip_gap(at, end);
  }
  return is_plain;
}

static void put_tenths(long tenths, FILE *stream) {
  const long size = tenths < 0 ? -tenths : tenths;
  if (tenths < 0) {
    (void)fputc('-', stream);
  }
  if (size >= 10 || size == 0) {
    (void)fprintf(stream, "%ld", size / 10);
  }
  if (size % 10 != 0) {
    (void)fprintf(stream, ".%ld", size % 10);
  }
}

void bw_svg_put_step(char command, struct bw_tenths step, FILE *stream) {
  (void)fputc(command, stream);
  put_tenths(step.x, stream);
  if (step.y >= 0) {
    (void)fputc(' ', stream);
  }
  put_tenths(step.y, stream);
}

void bw_svg_put_path(struct bw_span data, FILE *stream) {
  const char *end = data.at + data.length;
  const char *at = skip_gap(data.at, end);
  struct bw_tenths pen = {0, 0};
  struct bw_tenths start = {0, 0};
  bool is_fresh = true; /* a line of no length may be a dot; only behind a step is it nothing */
  while (at < end) {
    const char command = *at++;
    struct bw_tenths next = start;
    if (command == 'Z' || !take_point(&at, end, &next)) {
      (void)fputc('z', stream);
      pen = start;
    } else {
      const struct bw_tenths step = {next.x - pen.x, next.y - pen.y};
      if (command == 'M' || is_fresh || step.x != 0 || step.y != 0) {
        bw_svg_put_step(command == 'M' ? 'm' : 'l', step, stream);
      }
      is_fresh = command == 'M';
      start = is_fresh ? next : start;
      pen = next;
    }
    at = skip_gap(at, end);
  }
}

void bw_svg_put_points(struct bw_span points, bool is_closed, FILE *stream) {
  const char *at = points.at;
  const char *end = at + points.length;
  struct bw_tenths pen = {0, 0};
  struct bw_tenths next = {0, 0};
  char command = 'm';
  while (take_point(&at, end, &next)) {
    const struct bw_tenths step = {next.x - pen.x, next.y - pen.y};
    if (command == 'm' || step.x != 0 || step.y != 0) {
      bw_svg_put_step(command, step, stream);
    }
    command = 'l';
    pen = next;
  }
  if (is_closed && command == 'l') {
    (void)fputc('z', stream);
  }
}

/* behind `word`, NULL when something else stands there */
static const char *past(const char *at, const char *end, const char *word) {
  const size_t length = strlen(word);
  return at != NULL && (size_t)(end - at) >= length && memcmp(at, word, length) == 0 ? at + length
                                                                                     : NULL;
}

bool bw_svg_read_mark(struct bw_span transform, struct bw_tenths *at, double *scale) {
  const char *end = transform.at + transform.length;
  const char *from = past(transform.at, end, "translate(");
  if (from == NULL || !take_point(&from, end, at)) {
    return false;
  }
  from = past(from, end, ") scale(");
  return from != NULL && take_number(&from, end, scale) && past(from, end, ")") == end;
}
