/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "output/checked_line.h"
#include "output/path.h"
#include "output/report.h"

#include <string.h>
#include <sys/stat.h>

enum { LINE_LENGTH = 8192, KEY_LENGTH = 192, NAMED_MOST = 4 };

/* goes through a file of parameters key by key */
struct reader {
  FILE *stream;
  bool has_line;
  char line[LINE_LENGTH]; /* the one behind the key */
  char group[KEY_LENGTH]; /* 'machine.front.', empty outside */
  char key[KEY_LENGTH];   /* 'machine.front.lag_ms' */
  uint64_t value;         /* checksum of its lines: a table has several */
};

static void read_line(struct reader *reader) {
  reader->has_line = fgets(reader->line, sizeof reader->line, reader->stream) != NULL;
}

static bool is_key(const char *line) {
  return strstr(line, " = ") != NULL;
}

static bool is_group(const char *line) {
  return strstr(line, ": {") != NULL;
}

static bool is_end(const char *line) {
  return line[strspn(line, " ")] == '}';
}

static void enter_group(struct reader *reader) {
  const char *name = reader->line + strspn(reader->line, " ");
  const size_t used = strlen(reader->group);
  (void)snprintf(reader->group + used, KEY_LENGTH - used, "%.*s.", (int)strcspn(name, ":"), name);
}

static void leave_group(struct reader *reader) {
  size_t length = strlen(reader->group);
  length -= length > 0 ? 1 : 0;
  while (length > 0 && reader->group[length - 1] != '.') {
    length--;
  }
  reader->group[length] = '\0';
}

static void take_key(struct reader *reader) {
  const char *name = reader->line + strspn(reader->line, " ");
  (void)snprintf(reader->key, KEY_LENGTH, "%.90s%.*s", reader->group,
                 (int)(strcspn(name, " ") % KEY_LENGTH), name);
  reader->value = BW_CHECKSUM_START;
  do {
    reader->value = bw_checksum(reader->value, reader->line, strlen(reader->line));
    read_line(reader);
  } while (reader->has_line && !is_key(reader->line) && !is_group(reader->line) &&
           !is_end(reader->line));
}

/* false behind the last key */
static bool next_key(struct reader *reader) {
  while (reader->has_line) {
    if (is_key(reader->line)) {
      take_key(reader);
      return true;
    }
    if (is_group(reader->line)) {
      enter_group(reader);
    } else if (is_end(reader->line)) {
      leave_group(reader);
    }
    read_line(reader);
  }
  return false;
}

static bool start(struct reader *reader, const struct bw_report *report, const char *name) {
  char path[BW_FILE_PATH_MAX];
  reader->stream = bw_path_join(path, report->folder, name) ? fopen(path, "rb") : NULL;
  reader->group[0] = '\0';
  if (reader->stream != NULL) {
    read_line(reader);
  }
  return reader->stream != NULL;
}

static void start_again(struct reader *reader) {
  rewind(reader->stream);
  reader->group[0] = '\0';
  read_line(reader);
}

/* whether `among` has the key with the same value; files have one order of keys, so the search goes
 * on where the last one ended, and once from the start */
static bool has_same(struct reader *among, const struct reader *wanted) {
  for (int round = 0; round < 2; round++) {
    while (next_key(among)) {
      if (strcmp(among->key, wanted->key) == 0) {
        return among->value == wanted->value;
      }
    }
    start_again(among);
  }
  return false;
}

/* goes on to the next key of `other` that `first` has with another value */
static bool next_different(struct reader *other, struct reader *first, const char *idle) {
  while (next_key(other)) {
    const bool is_idle = idle != NULL && strcmp(other->key, idle) == 0;
    if (!is_idle && !has_same(first, other)) {
      return true;
    }
  }
  return false;
}

static void end(struct reader *reader) {
  if (reader->stream != NULL) {
    (void)fclose(reader->stream);
  }
}

void bw_report_put_difference(const struct bw_report *report,
                              const struct bw_report_settings *settings,
                              const struct bw_report_settings *reference) {
  struct reader other;
  struct reader first;
  size_t count = 0;
  const bool has_other = start(&other, report, settings->name);
  const bool has_first = start(&first, report, reference->name);
  while (has_other && has_first && next_different(&other, &first, settings->idle)) {
    if (count < NAMED_MOST) {
      (void)fputs(count > 0 ? ", " : "", report->stream);
      bw_html_put(report->stream, other.key);
    }
    count++;
  }
  if (count > NAMED_MOST) {
    (void)fprintf(report->stream, " and %zu more", count - NAMED_MOST);
  }
  (void)fputs(count == 0 ? "parameters" : "", report->stream);
  end(&other);
  end(&first);
}

/* files of other bytes may still differ in nothing but the idle key */
static bool is_same_but_idle(const struct bw_report *report,
                             const struct bw_report_settings *settings,
                             const struct bw_report_settings *reference) {
  struct reader other;
  struct reader first;
  const bool has_other = start(&other, report, settings->name);
  const bool has_first = start(&first, report, reference->name);
  const bool is_same = settings->idle != NULL && has_other && has_first &&
                       !next_different(&other, &first, settings->idle);
  end(&other);
  end(&first);
  return is_same;
}

size_t bw_report_find_settings(const struct bw_report *report,
                               struct bw_report_settings found[BW_REPORT_SETTINGS]) {
  static const struct bw_report_settings all[BW_REPORT_SETTINGS] = {
      {"run", "resolved.cfg", NULL},
      {"assess", "assess-resolved.cfg", "assess.ceiling"},
      {"faults", "faults-resolved.cfg", "assess.ceiling"},
      {"sweep", "sweep-resolved.cfg", NULL},
      {"sweep --find", "find-resolved.cfg", NULL}};
  struct bw_report_print first = {0};
  size_t count = 0;
  for (size_t i = 0; i < BW_REPORT_SETTINGS; i++) {
    char path[BW_FILE_PATH_MAX];
    struct stat info;
    struct bw_report_print print = {0};
    if (!bw_path_join(path, report->folder, all[i].name) || stat(path, &info) != 0 ||
        bw_report_fingerprint(path, &print, NULL) != BW_OK) {
      continue;
    }
    if (count > 0 && ((print.hash == first.hash && print.bytes == first.bytes) ||
                      is_same_but_idle(report, &all[i], &found[0]))) {
      continue;
    }
    found[count] = all[i];
    first = count == 0 ? print : first;
    count++;
  }
  return count;
}
