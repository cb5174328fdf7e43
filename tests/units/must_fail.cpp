// One expression a case; every case but SOUND must be refused by the compiler.
#include "engine/units.h"

using namespace bentline;

void expression(Pitch p, Pitch q, Seconds s, HeardSeconds h, Frames f, Cents c, Decibels d, Hertz z,
                MidiKey k) {
#if defined(SOUND)
    Cents sound = p - q;
    (void)sound;
#elif defined(PITCH_PLUS_PITCH)
    (void)(p + q);
#elif defined(SECONDS_PLUS_HEARD)
    (void)(s + h);
#elif defined(SECONDS_PLUS_FRAMES)
    (void)(s + f);
#elif defined(SECONDS_FROM_DOUBLE)
    s = 1.0;
#elif defined(CENTS_PLUS_DECIBELS)
    (void)(c + d);
#elif defined(HERTZ_PLUS_HERTZ)
    (void)(z + z);
#elif defined(PITCH_COMPARED_WITH_KEY)
    (void)(p < k);
#endif
    (void)p, (void)q, (void)s, (void)h, (void)f, (void)c, (void)d, (void)z, (void)k;
}
