// Long work: how it reports progress and how it is stopped.
//
// Every function that may take longer than a blink takes a `const Work&` last. It calls report()
// often enough to be stopped within 0.1 s and returns stopped_failure() when that says so. Progress
// callbacks run on the worker's own thread.
#pragma once

#include <functional>
#include <stop_token>

namespace bentline {

struct Work {
    std::function<void(double)> progress;  // share done, 0 to 1, never falling; may be empty
    std::stop_token stop;

    // Reports the share done; false when the work should stop.
    bool report(double share) const {
        if (progress) progress(share);
        return !stop.stop_requested();
    }

    // The same work seen from inside a part that runs from share `from` to share `to` of the whole.
    Work part(double from, double to) const {
        if (!progress) return Work{{}, stop};
        return Work{[outer = progress, from, to](double s) { outer(from + (to - from) * s); },
                    stop};
    }
};

}  // namespace bentline
