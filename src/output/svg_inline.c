/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/svg_inline.h"

#include "output/svg_path.h"
#include "output/svg_read.h"

#include <string.h>

enum { DEPTH_MAX = 64 };

/* what draws; whatever else there is, scripts above all, is left out with all that is in it */
static const char *const ELEMENTS[] = {
    "g",   "path", "polygon", "polyline", "line",     "rect",    "circle", "ellipse",
    "use", "text", "tspan",   "defs",     "clipPath", "pattern", "image",  "svg",
};
static const char *const ATTRIBUTES[] = {
    "x",
    "y",
    "x1",
    "y1",
    "x2",
    "y2",
    "dx",
    "dy",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
    "width",
    "height",
    "d",
    "points",
    "transform",
    "viewBox",
    "fill",
    "stroke",
    "color",
    "opacity",
    "fill-opacity",
    "stroke-opacity",
    "fill-rule",
    "stroke-width",
    "clip-path",
    "clip-rule",
    "stroke-dasharray",
    "font-size",
    "stroke-linecap",
    "font-family",
    "font-weight",
    "stroke-linejoin",
    "font-style",
    "text-anchor",
    "patternUnits",
    "visibility",
    "preserveAspectRatio",
    "stop-color",
    "stop-opacity",
    "offset",
    "flood-color",
    "flood-opacity",
    "shape-rendering",
};

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* marks of one shape, size and colour that follow each other: from the second on they are the
   corners of one path, drawn by a marker, which takes a tenth of the bytes */
struct marks {
  bool is_known; /* one was written, as what it is */
  bool is_open;  /* the path is */
  double scale;
  struct bw_span shape;
  struct bw_span colour;
  struct bw_tenths last;
};

struct inliner {
  FILE *stream;
  unsigned number;
  const char *label;
  size_t depth;                        /* open tags kept */
  size_t written;                      /* the first of them that are written */
  struct bw_svg_token open[DEPTH_MAX]; /* (depth) */
  size_t ignored;                      /* depth inside an element left out; 0: in none */
  bool has_ended;                      /* the root is closed */
  struct marks marks;
  unsigned markers;
};

static bool is_listed(struct bw_span name, const char *const *list, size_t count) {
  for (size_t i = 0; i < count; i++) {
    if (bw_span_is(name, list[i])) {
      return true;
    }
  }
  return false;
}

static bool is_made_of(struct bw_span value, const char *also) {
  for (size_t i = 0; i < value.length; i++) {
    const char c = value.at[i];
    const bool is_plain =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (!is_plain && (c == '\0' || strchr(also, c) == NULL)) {
      return false;
    }
  }
  return true;
}

/* no entity, no quote, no colon, so nothing that is run or fetched; "url" has its own way */
static bool is_harmless(struct bw_span value) {
  if (!is_made_of(value, " \t\r\n#.,%()+-_")) {
    return false;
  }
  for (size_t i = 0; i + 3 <= value.length; i++) {
    if ((value.at[i] | 32) == 'u' && (value.at[i + 1] | 32) == 'r' &&
        (value.at[i + 2] | 32) == 'l') {
      return false;
    }
  }
  return true;
}

/* the name in `before`#name`after`, {NULL, 0} when the value is not this */
static struct bw_span reference(struct bw_span value, const char *before, const char *after) {
  const size_t front = strlen(before);
  const size_t back = strlen(after);
  if (value.length <= front + back || memcmp(value.at, before, front) != 0 ||
      memcmp(value.at + value.length - back, after, back) != 0) {
    return (struct bw_span){NULL, 0};
  }
  const struct bw_span name = {value.at + front, value.length - front - back};
  return is_made_of(name, "._-") ? name : (struct bw_span){NULL, 0};
}

static void put_span(struct bw_span span, FILE *stream) {
  (void)fwrite(span.at, 1, span.length, stream);
}

static bool is_image(struct bw_span value) {
  static const char start[] = "data:image/png;base64,";
  const size_t length = sizeof start - 1;
  const struct bw_span rest = {value.at + length, value.length - length};
  return value.length > length && memcmp(value.at, start, length) == 0 &&
         is_made_of(rest, "+/= \t\r\n");
}

static void put_data(const struct bw_svg_token *token, struct bw_span value, FILE *stream) {
  (void)fputs(" d=\"", stream);
  if (!bw_span_is(token->text, "path")) {
    bw_svg_put_points(value, bw_span_is(token->text, "polygon"), stream);
  } else if (bw_svg_is_plain_path(value)) {
    bw_svg_put_path(value, stream);
  } else {
    put_span(value, stream);
  }
  (void)fputc('"', stream);
}

static void put_attribute(const struct inliner *inliner, const struct bw_svg_token *token,
                          const struct bw_svg_attribute *attribute) {
  FILE *stream = inliner->stream;
  const struct bw_span value = attribute->value;
  const struct bw_span within = reference(value, "#", "");
  const struct bw_span paint = reference(value, "url(#", ")");
  const bool is_link =
      bw_span_is(attribute->name, "xlink:href") || bw_span_is(attribute->name, "href");
  if (bw_span_is(attribute->name, "id")) {
    /* names of groups are for scripts only, and several plots of a file may use one twice */
    if (!bw_span_is(token->text, "g") && is_made_of(value, "._-")) {
      (void)fprintf(stream, " id=\"f%u-%.*s\"", inliner->number, (int)value.length, value.at);
    }
  } else if (is_link && within.at != NULL && !bw_span_is(token->text, "image")) {
    (void)fprintf(stream, " href=\"#f%u-%.*s\"", inliner->number, (int)within.length, within.at);
  } else if (is_link && bw_span_is(token->text, "image") && is_image(value)) {
    (void)fprintf(stream, " href=\"%.*s\"", (int)value.length, value.at);
  } else if (!is_listed(attribute->name, ATTRIBUTES, COUNT(ATTRIBUTES)) ||
             bw_span_is(value, "butt") || bw_span_is(value, "miter")) {
    return; /* the last two: what a line has anyway */
  } else if (paint.at != NULL) {
    (void)fprintf(stream, " %.*s=\"url(#f%u-%.*s)\"", (int)attribute->name.length,
                  attribute->name.at, inliner->number, (int)paint.length, paint.at);
  } else if (is_harmless(value)) {
    if (bw_span_is(attribute->name, "d") || bw_span_is(attribute->name, "points")) {
      put_data(token, value, stream);
      return;
    }
    (void)fprintf(stream, " %.*s=\"%.*s\"", (int)attribute->name.length, attribute->name.at,
                  (int)value.length, value.at);
  }
}

static bool is_shape_of_points(const struct bw_svg_token *token) {
  return bw_span_is(token->text, "polygon") || bw_span_is(token->text, "polyline");
}

static void put_open(const struct inliner *inliner, const struct bw_svg_token *token,
                     bool is_root) {
  FILE *stream = inliner->stream;
  (void)fputc('<', stream);
  put_span(is_shape_of_points(token) ? (struct bw_span){"path", 4} : token->text, stream);
  for (size_t i = 0; i < token->attribute_count; i++) {
    put_attribute(inliner, token, &token->attribute[i]);
  }
  if (is_root) {
    (void)fprintf(stream, " role=\"img\" aria-label=\"%s\"", inliner->label);
  }
  (void)fputs(token->is_empty ? "/>" : ">", stream);
}

static void end_marks(struct inliner *inliner) {
  if (inliner->marks.is_open) {
    (void)fputs("\"/>", inliner->stream);
  }
  inliner->marks = (struct marks){.is_open = false};
}

/* the tags around what comes now */
static void put_pending(struct inliner *inliner) {
  end_marks(inliner);
  for (; inliner->written < inliner->depth; inliner->written++) {
    put_open(inliner, &inliner->open[inliner->written], inliner->written == 0);
  }
}

static bool is_same(struct bw_span a, struct bw_span b) {
  return a.length == b.length && (a.length == 0 || memcmp(a.at, b.at, a.length) == 0);
}

static void open_marks(struct inliner *inliner, const struct marks *marks) {
  FILE *stream = inliner->stream;
  char name[32];
  (void)snprintf(name, sizeof name, "f%u-m%u", inliner->number, ++inliner->markers);
  (void)fprintf(stream,
                "<marker id=\"%s\" markerUnits=\"userSpaceOnUse\" overflow=\"visible\">"
                "<use href=\"#f%u-%.*s\" transform=\"scale(%.3g)\" color=\"%.*s\"/></marker>",
                name, inliner->number, (int)marks->shape.length, marks->shape.at, marks->scale,
                (int)marks->colour.length, marks->colour.at);
  (void)fprintf(stream,
                "<path fill=\"none\" stroke=\"none\" marker-start=\"url(#%s)\" "
                "marker-mid=\"url(#%s)\" marker-end=\"url(#%s)\" d=\"",
                name, name, name);
  bw_svg_put_step('m', marks->last, stream);
}

/* false when the token is no mark of a known place, size and colour */
static bool put_mark(struct inliner *inliner, const struct bw_svg_token *token) {
  struct marks *marks = &inliner->marks;
  struct marks next = {.is_known = true,
                       .shape = reference(bw_svg_value(token, "xlink:href"), "#", ""),
                       .colour = bw_svg_value(token, "color")};
  if (!bw_span_is(token->text, "use") || next.shape.at == NULL || next.colour.at == NULL ||
      !is_harmless(next.colour) || token->attribute_count != 3 ||
      !bw_svg_read_mark(bw_svg_value(token, "transform"), &next.last, &next.scale)) {
    return false;
  }
  const bool goes_on = marks->is_known && inliner->written == inliner->depth &&
                       !(marks->scale < next.scale) && !(marks->scale > next.scale) &&
                       is_same(marks->shape, next.shape) && is_same(marks->colour, next.colour);
  if (!goes_on) {
    put_pending(inliner);
    put_open(inliner, token, false);
  } else if (!marks->is_open) {
    open_marks(inliner, &next);
    next.is_open = true;
  } else {
    const struct bw_tenths step = {next.last.x - marks->last.x, next.last.y - marks->last.y};
    if (step.x != 0 || step.y != 0) {
      bw_svg_put_step('l', step, inliner->stream);
    }
    next.is_open = true;
  }
  *marks = next;
  return true;
}

static bool take_open(struct inliner *inliner, const struct bw_svg_token *token) {
  if (inliner->ignored > 0 || !is_listed(token->text, ELEMENTS, COUNT(ELEMENTS))) {
    inliner->ignored += token->is_empty ? 0 : 1;
    return true;
  }
  /* one root, and it comes first */
  if ((inliner->depth == 0) != bw_span_is(token->text, "svg")) {
    return false;
  }
  if (token->is_empty) {
    if (!put_mark(inliner, token)) {
      put_pending(inliner);
      put_open(inliner, token, false);
    }
    return true;
  }
  if (inliner->depth >= DEPTH_MAX) {
    return false;
  }
  inliner->open[inliner->depth++] = *token;
  return true;
}

static bool take_close(struct inliner *inliner, const struct bw_svg_token *token) {
  if (inliner->ignored > 0) {
    inliner->ignored--;
    return true;
  }
  if (inliner->depth == 0 || !is_same(token->text, inliner->open[inliner->depth - 1].text)) {
    return false;
  }
  const struct bw_svg_token *last = &inliner->open[--inliner->depth];
  if (inliner->written > inliner->depth) {
    end_marks(inliner);
    (void)fputs("</", inliner->stream);
    put_span(is_shape_of_points(last) ? (struct bw_span){"path", 4} : last->text, inliner->stream);
    (void)fputc('>', inliner->stream);
    inliner->written = inliner->depth;
  }
  return true;
}

/* text counts inside text elements only; it holds no '<' */
static void take_text(struct inliner *inliner, struct bw_span text) {
  const struct bw_svg_token *last = inliner->depth > 0 ? &inliner->open[inliner->depth - 1] : NULL;
  if (inliner->ignored == 0 && last != NULL &&
      (bw_span_is(last->text, "text") || bw_span_is(last->text, "tspan"))) {
    put_pending(inliner);
    put_span(text, inliner->stream);
  }
}

/* false when the file is not sound */
static bool take_token(struct inliner *inliner, const struct bw_svg_token *token) {
  switch (token->kind) {
  case BW_SVG_OPEN:
    return !inliner->has_ended && take_open(inliner, token);
  case BW_SVG_CLOSE:
    if (!take_close(inliner, token)) {
      return false;
    }
    inliner->has_ended = inliner->depth == 0 && inliner->ignored == 0;
    return true;
  case BW_SVG_TEXT:
    take_text(inliner, token->text);
    return true;
  case BW_SVG_END:
  case BW_SVG_BROKEN:
    break;
  }
  return false;
}

/* XML holds no control characters, and a page that did would be cut or shown otherwise */
static bool has_control(const char *text, size_t length) {
  for (size_t i = 0; i < length; i++) {
    const unsigned char c = (unsigned char)text[i];
    if (c < 0x20 && c != '\t' && c != '\n' && c != '\r') {
      return true;
    }
  }
  return false;
}

bool bw_svg_inline(const char *text, size_t length, unsigned number, const char *label,
                   FILE *stream) {
  struct inliner inliner = {.stream = stream, .number = number, .label = label};
  const char *at = text;
  struct bw_svg_token token;
  bool has_drawn = false;
  if (has_control(text, length)) {
    return false;
  }
  for (bw_svg_next(&at, text + length, &token); token.kind != BW_SVG_END;
       bw_svg_next(&at, text + length, &token)) {
    if (!take_token(&inliner, &token)) {
      return false;
    }
    has_drawn = has_drawn || inliner.written > 0;
  }
  return has_drawn && inliner.has_ended;
}
