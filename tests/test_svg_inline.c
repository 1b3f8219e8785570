/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "check.h"

#include "output/svg_inline.h"

#include <stdlib.h>
#include <string.h>

/* what becomes of `svg`; NULL when it is refused. The caller frees it. */
static char *inlined(const char *svg) {
  char *text = NULL;
  size_t length = 0;
  FILE *stream = open_memstream(&text, &length);
  assert_non_null(stream);
  const bool is_sound = bw_svg_inline(svg, strlen(svg), 7, "label", stream);
  assert_int_equal(fclose(stream), 0);
  if (!is_sound) {
    free(text);
    return NULL;
  }
  return text;
}

static void check_becomes(const char *inside, const char *wanted) {
  char svg[2048];
  char whole[2048];
  (void)snprintf(svg, sizeof svg, "<?xml version='1.0'?>\n<svg viewBox='0 0 9 9'>%s</svg>\n",
                 inside);
  (void)snprintf(whole, sizeof whole,
                 "<svg viewBox=\"0 0 9 9\" role=\"img\" aria-label=\"label\">%s</svg>", wanted);
  char *text = inlined(svg);
  assert_non_null(text);
  assert_string_equal(text, whole);
  free(text);
}

static void drawing_gets_through(void **state) {
  (void)state;
  check_becomes("<g fill='red'><rect x='1' y='2' width='3' height='4'/></g>",
                "<g fill=\"red\"><rect x=\"1\" y=\"2\" width=\"3\" height=\"4\"/></g>");
  /* boxes that touch must not let the page through */
  check_becomes("<g shape-rendering='crispEdges'><rect x='1'/></g>",
                "<g shape-rendering=\"crispEdges\"><rect x=\"1\"/></g>");
  check_becomes("<text>a &lt;b&gt; &amp; c</text>", "<text>a &lt;b&gt; &amp; c</text>");
  check_becomes("<image width='1' height='1' xlink:href='data:image/png;base64,iVBO+/='/>",
                "<image width=\"1\" height=\"1\" href=\"data:image/png;base64,iVBO+/=\"/>");
}

/* several figures share a page, so names inside a figure become its own */
static void identifiers_become_the_figures_own(void **state) {
  (void)state;
  check_becomes("<g id='b'><rect/></g><g id='b'><rect/></g>", "<g><rect/></g><g><rect/></g>");
  check_becomes("<circle id='a' r='1'/><use xlink:href='#a'/><rect fill='url(#a)'/>",
                "<circle id=\"f7-a\" r=\"1\"/><use href=\"#f7-a\"/><rect fill=\"url(#f7-a)\"/>");
}

/* positions in tenths, each from the last; a step of no length is left out */
static void paths_are_shortened(void **state) {
  (void)state;
  check_becomes("<path d='M10.04,20 L10.06,19.5 L10.06,19.5 L-3,19.5 Z '/>",
                "<path d=\"m10 20l.1-.5l-13.1 0z\"/>");
  check_becomes("<polygon points='1,1 2,1 2,3'/>", "<path d=\"m1 1l1 0l0 2z\"/>");
  check_becomes("<path d='M0,0 h3 v-1'/>", "<path d=\"M0,0 h3 v-1\"/>");
  check_becomes("<g fill='none'><g>\n</g></g><rect x='1'/>", "<rect x=\"1\"/>");
}

static void rounding_does_not_add_up(void **state) {
  (void)state;
  char svg[8192] = "<svg><path d='M0,0 ";
  for (int i = 1; i <= 200; i++) {
    char step[32];
    (void)snprintf(step, sizeof step, "L%.2f,0 ", 0.26 * i);
    strncat(svg, step, sizeof svg - strlen(svg) - 1);
  }
  strncat(svg, "'/></svg>", sizeof svg - strlen(svg) - 1);
  char *text = inlined(svg);
  assert_non_null(text);
  double x = 0.0;
  for (const char *at = strstr(text, "d=\"m0 0") + 7; *at == 'l';) {
    char *end = NULL;
    x += strtod(at + 1, &end);
    at = strpbrk(end + 1, "l\"");
  }
  CHECK_CLOSE(x, 52.0, 0.05 + 1e-9);
  free(text);
}

static void marks_become_one_path(void **state) {
  (void)state;
  const char *mark =
      "<use xlink:href='#gpPt6' transform='translate(1,2) scale(1.5)' color='red'/>"
      "<use xlink:href='#gpPt6' transform='translate(3,2) scale(1.5)' color='red'/>"
      "<use xlink:href='#gpPt6' transform='translate(3,5) scale(1.5)' color='red'/>"
      "<use xlink:href='#gpPt6' transform='translate(3,5) scale(1.5)' color='blue'/>";
  check_becomes(
      mark,
      "<use href=\"#f7-gpPt6\" transform=\"translate(1,2) scale(1.5)\" color=\"red\"/>"
      "<marker id=\"f7-m1\" markerUnits=\"userSpaceOnUse\" overflow=\"visible\"><use "
      "href=\"#f7-gpPt6\" transform=\"scale(1.5)\" color=\"red\"/></marker><path fill=\"none\" "
      "stroke=\"none\" marker-start=\"url(#f7-m1)\" marker-mid=\"url(#f7-m1)\" "
      "marker-end=\"url(#f7-m1)\" d=\"m3 2l0 3\"/>"
      "<use href=\"#f7-gpPt6\" transform=\"translate(3,5) scale(1.5)\" color=\"blue\"/>");
}

static void nothing_that_runs_or_fetches_gets_through(void **state) {
  (void)state;
  static const char *const bad[] = {
      "<script>alert(1)</script>",
      "<SCRIPT>alert(1)</SCRIPT>",
      "<svg:script>alert(1)</svg:script>",
      "<g><script/></g>",
      "<style>@import 'x'</style>",
      "<foreignObject><b onload='x'>t</b></foreignObject>",
      "<a href='javascript:x'><rect/></a>",
      "<animate onbegin='x'/>",
      "<set attributeName='href' to='javascript:x'/>",
      "<title><![CDATA[<script>alert(1)</script>]]></title>",
      "<!-- <script> --><!-- -->",
      "<g><![CDATA[ </g><script>alert(1)</script> ]]></g>",
  };
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    char inside[256];
    (void)snprintf(inside, sizeof inside, "%s<rect/>", bad[i]);
    check_becomes(inside, "<rect/>");
    char bare[256];
    (void)snprintf(bare, sizeof bare, "<svg>%s</svg>", bad[i]);
    assert_null(inlined(bare)); /* draws nothing */
  }
  check_becomes("<rect onclick='x' style='fill:url(http://x)' class='y'/>", "<rect/>");
  check_becomes("<rect fill='url(http://x)'/><rect fill=' URL(#a)'/>", "<rect/><rect/>");
  check_becomes("<rect fill='a\" onload=\"x'/>", "<rect/>");
  check_becomes("<rect fill='&quot; onload=x'/>", "<rect/>");
  check_becomes("<rect id='a\" b'/><rect id='&#34;'/>", "<rect/><rect/>");
  check_becomes("<use href='http://x#y'/><use href='data:image/svg+xml,x'/>", "<use/><use/>");
  check_becomes("<image href='http://x'/><image href='data:image/svg+xml;base64,QQ'/>",
                "<image/><image/>");
  check_becomes("<image href='data:image/png;base64,QQ\" onload=x'/>", "<image/>");
}

static void broken_files_are_refused(void **state) {
  (void)state;
  static const char *const broken[] = {
      "",
      "plain text",
      "<svg>",
      "<svg><g></svg>",
      "<svg/>",
      "<html></html>",
      "<svg><g></g></svg><svg><rect/></svg>",
      "<svg><rect x=1/></svg>",
      "<svg><rect x='1</svg>",
      "<svg><rect x='1'",
      "<svg><!-- </svg>",
      "<svg><![CDATA[ </svg>",
      "</svg>",
      "<g><rect/></g>",
      "<svg><rect/></svg></svg>",
      "<svg>< rect/></svg>",
  };
  for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
    char *text = inlined(broken[i]);
    if (text != NULL) {
      print_error("taken as an SVG: %s -> %s\n", broken[i], text);
    }
    assert_null(text);
  }
  char deep[4096] = "<svg>";
  for (int i = 0; i < 200; i++) {
    strncat(deep, "<g>", sizeof deep - strlen(deep) - 1);
  }
  assert_null(inlined(deep));
}

/* every cut and every flipped byte of a figure is read without harm and lets no tag but the
   listed ones through */
static void damaged_files_do_no_harm(void **state) {
  (void)state;
  static const char svg[] =
      "<?xml version='1.0'?><svg viewBox='0 0 9 9'><!-- c --><defs><path id='p' d='M0,0 L1,1'/>"
      "</defs><g fill='none'><use xlink:href='#p' transform='translate(1,2) scale(3)' color='red'/>"
      "<polygon points='1,1 2,2'/><text>&lt;script&gt;</text><script>x</script></g></svg>";
  for (size_t length = 0; length < sizeof svg - 1; length++) {
    char cut[sizeof svg];
    memcpy(cut, svg, sizeof svg);
    cut[length] = '\0';
    free(inlined(cut));
    for (int bit = 0; bit < 7; bit++) {
      memcpy(cut, svg, sizeof svg);
      cut[length] = (char)(cut[length] ^ (1 << bit));
      char *text = inlined(cut);
      assert_true(text == NULL || strstr(text, "<script") == NULL);
      free(text);
    }
  }
}

int main(void) {
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(drawing_gets_through),
      cmocka_unit_test(identifiers_become_the_figures_own),
      cmocka_unit_test(paths_are_shortened),
      cmocka_unit_test(rounding_does_not_add_up),
      cmocka_unit_test(marks_become_one_path),
      cmocka_unit_test(nothing_that_runs_or_fetches_gets_through),
      cmocka_unit_test(broken_files_are_refused),
      cmocka_unit_test(damaged_files_do_no_harm),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
