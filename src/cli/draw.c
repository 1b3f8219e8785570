/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw.h"

#include "data_dir.h"
#include "interrupt.h"
#include "traces_thinned.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum { PATH_LENGTH = BW_FIGURE_PATH_MAX, NOT_STARTED = 127, PROCESSES_MAX = 64 };

struct drawing {
  const char *folder;
  const struct bw_figure_plan *plan;
  const char *target;
  const char *ending;
  char thinned[PATH_LENGTH]; /* folder that figures of traces are drawn from */
  char plots[PATH_LENGTH];
  size_t processes;
  struct {
    pid_t child; /* 0: free */
    const struct bw_figure_item *item;
  } at_work[PROCESSES_MAX];
};

/* beside the case data when installed, beside cases/ in a source tree */
static enum bw_status find_scripts(struct drawing *drawing, struct bw_diag *diag) {
  static const char *const places[] = {"plots", "../plots"};
  char data[BW_DATA_DIR_MAX];
  char style[PATH_LENGTH];
  bw_data_dir(data);
  for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
    BW_TRY(bw_figure_path(data, places[i], drawing->plots, diag));
    BW_TRY(bw_figure_path(drawing->plots, "style.gp", style, diag));
    if (access(style, R_OK) == 0) {
      return BW_OK;
    }
  }
  return bw_fail_at(diag, BW_E_INPUT, data, 0,
                    "no plots/style.gp with it; set BRAKEWEAVE_DATA to the program's data folder");
}

/* without a shell and without the user's settings; the child's number, or -1 */
static pid_t start_gnuplot(const char *const *words) {
  const pid_t child = fork();
  if (child == 0) {
    const int null = open("/dev/null", O_RDWR);
    if (null >= 0) {
      (void)dup2(null, STDIN_FILENO);
      (void)dup2(null, STDOUT_FILENO);
      (void)dup2(null, STDERR_FILENO);
    }
    bw_interrupt_die_of_file_limit(); /* gnuplot does not look whether its writes succeed */
    /* NOLINTNEXTLINE(performance-no-int-to-ptr): no word changes, its type lacks const */
    (void)execvp("gnuplot", (char *const *)(uintptr_t)words);
    _exit(NOT_STARTED);
  }
  return child;
}

/* exit status of a child, -1 when it did not end by itself; *child (0: any) is set to whose it is
 */
static int wait_for(pid_t *child) {
  int state = 0;
  pid_t ended = -1;
  do {
    ended = waitpid(*child == 0 ? -1 : *child, &state, 0);
  } while (ended < 0 && errno == EINTR);
  *child = ended;
  return ended > 0 && WIFEXITED(state) ? WEXITSTATUS(state) : -1;
}

static enum bw_status check_gnuplot(struct bw_diag *diag) {
  const char *const words[] = {"gnuplot", "--version", NULL};
  pid_t child = start_gnuplot(words);
  if (child > 0 && wait_for(&child) == 0) {
    return BW_OK;
  }
  return bw_fail(diag, BW_E_USAGE,
                 "figures need gnuplot, which does not run here; install it "
                 "(apt-get install gnuplot-nox), the CSV files stand");
}

static enum bw_status file_of(const struct drawing *drawing, const struct bw_figure_item *item,
                              char file[PATH_LENGTH], struct bw_diag *diag) {
  char name[BW_FIGURE_FILE_MAX];
  bw_figure_file(item, drawing->ending, name);
  return bw_figure_path(drawing->target, name, file, diag);
}

static enum bw_status start_figure(struct drawing *drawing, size_t place,
                                   const struct bw_figure_item *item, struct bw_diag *diag) {
  char name[BW_FIGURE_FILE_MAX];
  char script[PATH_LENGTH];
  char file[PATH_LENGTH];
  const struct bw_plot_figure *figure = item->figure;
  (void)snprintf(name, sizeof name, "%s.gp", figure->script);
  BW_TRY(bw_figure_path(drawing->plots, name, script, diag));
  BW_TRY(file_of(drawing, item, file, diag));
  const char *const first = item->strategy != NULL ? item->strategy : figure->argument;
  const char *const words[] = {"gnuplot",
                               "-d",
                               "-c",
                               script,
                               bw_reads_trace(figure) ? drawing->thinned : drawing->folder,
                               file,
                               first,
                               item->strategy != NULL ? figure->argument : NULL,
                               NULL};
  (void)unlink(file);
  drawing->at_work[place].child = start_gnuplot(words);
  drawing->at_work[place].item = item;
  if (drawing->at_work[place].child < 0) {
    drawing->at_work[place].child = 0;
    return bw_fail(diag, BW_E_IO, "gnuplot cannot be started; wait until the machine has room");
  }
  return BW_OK;
}

static enum bw_status go_on(struct bw_diag *diag) {
  return bw_interrupt_has_come()
             ? bw_fail(diag, BW_E_INTERRUPTED, "interrupted while drawing; draw again for the rest")
             : BW_OK;
}

/* wait for one figure and judge it; *place is free then */
static enum bw_status end_figure(struct drawing *drawing, size_t *place, struct bw_diag *diag) {
  char file[PATH_LENGTH];
  struct stat info;
  pid_t child = 0;
  const int ended = wait_for(&child);
  size_t i = 0;
  while (i + 1 < drawing->processes && drawing->at_work[i].child != child) {
    i++;
  }
  *place = i;
  drawing->at_work[i].child = 0;
  BW_TRY(file_of(drawing, drawing->at_work[i].item, file, diag));
  if (ended == 0 && stat(file, &info) == 0 && info.st_size > 0) {
    return BW_OK;
  }
  (void)unlink(file);
  BW_TRY(go_on(diag)); /* an interrupt from the keyboard has ended gnuplot too */
  return bw_fail_at(diag, BW_E_IO, file, 0,
                    "gnuplot could not draw it; 'gnuplot -c %s/%s.gp' tells how to do it by hand "
                    "and why",
                    drawing->plots, drawing->at_work[i].item->figure->script);
}

static enum bw_status draw_figures(struct drawing *drawing, struct bw_diag *diag) {
  enum bw_status status = BW_OK;
  size_t busy = 0;
  for (size_t i = 0; i < drawing->plan->count && status == BW_OK; i++) {
    size_t place = busy;
    status = go_on(diag);
    if (status == BW_OK && busy == drawing->processes) {
      status = end_figure(drawing, &place, diag);
      busy--;
    }
    if (status == BW_OK) {
      status = start_figure(drawing, place, &drawing->plan->item[i], diag);
      busy += status == BW_OK ? 1 : 0;
    }
  }
  for (; busy > 0; busy--) {
    size_t place = 0;
    const enum bw_status ended = end_figure(drawing, &place, status == BW_OK ? diag : NULL);
    status = status == BW_OK ? ended : status;
  }
  return status;
}

enum bw_status bw_draw(const char *folder, const struct bw_figure_plan *plan, const char *target,
                       const char *ending, struct bw_diag *diag) {
  struct drawing *drawing = bw_alloc(1, sizeof *drawing);
  if (drawing == NULL) {
    return bw_fail(diag, BW_E_MEMORY, "out of memory for the figures");
  }
  *drawing = (struct drawing){.folder = folder, .plan = plan, .target = target, .ending = ending};
  const long processors = sysconf(_SC_NPROCESSORS_ONLN);
  drawing->processes = processors < 1               ? 1
                       : processors > PROCESSES_MAX ? PROCESSES_MAX
                                                    : (size_t)processors;
  enum bw_status status = find_scripts(drawing, diag);
  if (status == BW_OK) {
    status = check_gnuplot(diag);
  }
  bw_interrupt_watch();
  if (status == BW_OK && mkdir(target, 0777) != 0 && errno != EEXIST) {
    status =
        bw_fail_at(diag, BW_E_IO, target, 0, "cannot be made; check the permissions of its folder");
  }
  if (status == BW_OK) {
    status = bw_thin_traces(folder, plan, target, drawing->thinned, diag);
  }
  if (status == BW_OK) {
    status = draw_figures(drawing, diag);
  }
  bw_unthin_traces(drawing->thinned);
  bw_free(drawing);
  return status;
}
