/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/utf8.h"

#include <stdbool.h>

struct range {
  uint32_t first;
  uint32_t last;
};

static const struct range ZERO_WIDTH[] = {{0x0300, 0x036F}, {0x0483, 0x0489}, {0x0591, 0x05BD},
                                          {0x064B, 0x065F}, {0x1AB0, 0x1AFF}, {0x1DC0, 0x1DFF},
                                          {0x200B, 0x200F}, {0x2060, 0x2064}, {0x20D0, 0x20FF},
                                          {0xFE00, 0xFE0F}, {0xFE20, 0xFE2F}, {0xFEFF, 0xFEFF}};

static const struct range DOUBLE_WIDTH[] = {
    {0x1100, 0x115F}, {0x2E80, 0x303E}, {0x3041, 0xA4CF}, {0xAC00, 0xD7A3},   {0xF900, 0xFAFF},
    {0xFE30, 0xFE6F}, {0xFF00, 0xFF60}, {0xFFE0, 0xFFE6}, {0x1F300, 0x1FAFF}, {0x20000, 0x3FFFD}};

static bool is_among(uint32_t point, const struct range *ranges, size_t count) {
  for (size_t i = 0; i < count; i++) {
    if (point >= ranges[i].first && point <= ranges[i].last) {
      return true;
    }
  }
  return false;
}

/* bytes that follow the lead byte, 4 for a byte that cannot lead */
static size_t follow_count(unsigned char lead) {
  if (lead < 0x80) {
    return 0;
  }
  if (lead >= 0xC2 && lead <= 0xDF) {
    return 1;
  }
  if (lead >= 0xE0 && lead <= 0xEF) {
    return 2;
  }
  return lead >= 0xF0 && lead <= 0xF4 ? 3 : 4;
}

uint32_t bw_utf8_next(const char **text) {
  static const uint32_t smallest[] = {0, 0x80, 0x800, 0x10000};
  static const uint32_t lead_mask[] = {0x7F, 0x1F, 0x0F, 0x07};
  const unsigned char lead = (unsigned char)**text;
  if (lead == 0) {
    return 0;
  }
  const size_t follow = follow_count(lead);
  const char *byte = *text + 1;
  *text = byte;
  if (follow > 3) {
    return BW_UTF8_REPLACEMENT;
  }
  uint32_t point = lead & lead_mask[follow];
  for (size_t i = 0; i < follow; i++, byte++) {
    if (((unsigned char)*byte & 0xC0u) != 0x80u) {
      return BW_UTF8_REPLACEMENT;
    }
    point = (point << 6) | ((unsigned char)*byte & 0x3Fu);
  }
  if (point < smallest[follow] || point > 0x10FFFF || (point >= 0xD800 && point <= 0xDFFF)) {
    return BW_UTF8_REPLACEMENT;
  }
  *text = byte;
  return point;
}

size_t bw_utf8_width(const char *text) {
  size_t width = 0;
  for (uint32_t point = bw_utf8_next(&text); point != 0; point = bw_utf8_next(&text)) {
    if (is_among(point, ZERO_WIDTH, sizeof ZERO_WIDTH / sizeof ZERO_WIDTH[0])) {
      continue;
    }
    const bool is_double =
        is_among(point, DOUBLE_WIDTH, sizeof DOUBLE_WIDTH / sizeof DOUBLE_WIDTH[0]);
    width += is_double ? 2 : 1;
  }
  return width;
}
