/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_SVG_READ_H
#define BW_SVG_READ_H

#include <stdbool.h>
#include <stddef.h>

/** Tags of an SVG file one after the other. Enough of XML for what figures are made of: tags,
 *  attributes, text. Comments, processing instructions, document types and CDATA are passed over;
 *  entities stay as they are written. */

enum { BW_SVG_ATTRIBUTES_MAX = 24 };

enum bw_svg_kind {
  BW_SVG_END,    /**< end of the text */
  BW_SVG_OPEN,   /**< `<name ...>` or, with is_empty, `<name .../>` */
  BW_SVG_CLOSE,  /**< `</name>` */
  BW_SVG_TEXT,   /**< what stands between tags; holds no '<' */
  BW_SVG_BROKEN, /**< no XML, or more attributes than BW_SVG_ATTRIBUTES_MAX */
};

/** Characters of the text that is read; not ended by a NUL. */
struct bw_span {
  const char *at;
  size_t length;
};

struct bw_svg_attribute {
  struct bw_span name;
  struct bw_span value; /**< without its quotes, holds no '<' */
};

struct bw_svg_token {
  enum bw_svg_kind kind;
  struct bw_span text; /**< name of a tag, or the text */
  bool is_empty;
  size_t attribute_count;
  struct bw_svg_attribute attribute[BW_SVG_ATTRIBUTES_MAX];
};

/** Whether the span is exactly `word`. */
bool bw_span_is(struct bw_span span, const char *word);

/** Value of the attribute `name`; {NULL, 0} when there is none. */
struct bw_span bw_svg_value(const struct bw_svg_token *token, const char *name);

/** Read one token from *at, which moves behind it and never beyond `end`. */
void bw_svg_next(const char **at, const char *end, struct bw_svg_token *token);

#endif
