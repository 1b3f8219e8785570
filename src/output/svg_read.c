/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/svg_read.h"

#include <string.h>

bool bw_span_is(struct bw_span span, const char *word) {
  return strlen(word) == span.length && span.length > 0 && memcmp(span.at, word, span.length) == 0;
}

struct bw_span bw_svg_value(const struct bw_svg_token *token, const char *name) {
  for (size_t i = 0; i < token->attribute_count; i++) {
    if (bw_span_is(token->attribute[i].name, name)) {
      return token->attribute[i].value;
    }
  }
  return (struct bw_span){NULL, 0};
}

static bool is_space(char c) {
  return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static bool is_name(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == ':' ||
         c == '-' || c == '_' || c == '.';
}

static const char *skip_space(const char *at, const char *end) {
  while (at < end && is_space(*at)) {
    at++;
  }
  return at;
}

static struct bw_span take_name(const char **at, const char *end) {
  struct bw_span name = {*at, 0};
  while (*at < end && is_name(**at)) {
    (*at)++;
    name.length++;
  }
  return name;
}

static bool starts(const char *at, const char *end, const char *word) {
  const size_t length = strlen(word);
  return (size_t)(end - at) >= length && memcmp(at, word, length) == 0;
}

/* behind the next `word`, NULL when there is none */
static const char *behind(const char *at, const char *end, const char *word) {
  const size_t length = strlen(word);
  while ((size_t)(end - at) >= length && memcmp(at, word, length) != 0) {
    at++;
  }
  return (size_t)(end - at) >= length ? at + length : NULL;
}

/* behind what is passed over and starts at `at`; NULL when it has no end, `at` for a tag */
static const char *pass_over(const char *at, const char *end) {
  static const char *const fences[][2] = {
      {"<!--", "-->"}, {"<![CDATA[", "]]>"}, {"<?", "?>"}, {"<!", ">"}};
  for (size_t i = 0; i < sizeof fences / sizeof fences[0]; i++) {
    if (starts(at, end, fences[i][0])) {
      return behind(at + strlen(fences[i][0]), end, fences[i][1]);
    }
  }
  return at;
}

/* one `name="value"`; false when it is none */
static bool take_attribute(const char **at, const char *end, struct bw_svg_token *token) {
  const char *from = *at;
  struct bw_svg_attribute found = {.name = take_name(&from, end)};
  from = skip_space(from, end);
  if (found.name.length == 0 || from >= end || *from != '=' ||
      token->attribute_count >= BW_SVG_ATTRIBUTES_MAX) {
    return false;
  }
  from = skip_space(from + 1, end);
  if (from >= end || (*from != '"' && *from != '\'')) {
    return false;
  }
  const char quote = *from++;
  found.value.at = from;
  while (from < end && *from != quote && *from != '<') {
    from++;
  }
  if (from >= end || *from != quote) {
    return false;
  }
  found.value.length = (size_t)(from - found.value.at);
  token->attribute[token->attribute_count++] = found;
  *at = from + 1;
  return true;
}

/* `*at` stands behind the '<' */
static bool take_tag(const char **at, const char *end, struct bw_svg_token *token) {
  const bool is_close = *at < end && **at == '/';
  *at += is_close ? 1 : 0;
  token->kind = is_close ? BW_SVG_CLOSE : BW_SVG_OPEN;
  token->text = take_name(at, end);
  if (token->text.length == 0) {
    return false;
  }
  for (*at = skip_space(*at, end); *at < end && **at != '>'; *at = skip_space(*at, end)) {
    if (starts(*at, end, "/>")) {
      token->is_empty = true;
      (*at)++;
    } else if (is_close || !take_attribute(at, end, token)) {
      return false;
    }
  }
  const bool is_whole = *at < end;
  *at += is_whole ? 1 : 0;
  return is_whole;
}

void bw_svg_next(const char **at, const char *end, struct bw_svg_token *token) {
  token->kind = BW_SVG_END;
  token->is_empty = false;
  token->attribute_count = 0;
  while (*at < end && **at == '<') {
    const char *next = pass_over(*at, end);
    if (next == *at) {
      (*at)++;
      token->kind = take_tag(at, end, token) ? token->kind : BW_SVG_BROKEN;
      return;
    }
    if (next == NULL) {
      token->kind = BW_SVG_BROKEN;
      return;
    }
    *at = next;
  }
  token->text = (struct bw_span){*at, 0};
  while (*at < end && **at != '<') {
    (*at)++;
    token->text.length++;
  }
  token->kind = token->text.length > 0 ? BW_SVG_TEXT : BW_SVG_END;
}
