/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BW_ATTRIBUTES_H
#define BW_ATTRIBUTES_H

/** The one place where compiler extensions are named. */

#define BW_MUST_CHECK         __attribute__((warn_unused_result))
#define BW_PRINTF(fmt, first) __attribute__((format(printf, fmt, first)))
#define BW_ALIGNED(bytes)     __attribute__((aligned(bytes)))
/** Seldom called: kept out of its caller, which then saves no registers for it. */
#define BW_RARE __attribute__((cold, noinline))
/** Stages of the hot loop must end up in the caller, or the specialised copies are lost. */
#define BW_HOT_INLINE static inline __attribute__((always_inline))

#endif
