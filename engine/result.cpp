// The failures that every stage shares.
#include "engine/result.h"

namespace bentline {

Failure stopped_failure() {
    return Failure{FailureKind::stopped, "stopped before it was done; nothing was changed", {}};
}

}  // namespace bentline
