// Loads a draft and says what there is to say about its recording.
#include "ui/command/open_draft.h"

namespace bentline::command {

Result<Draft> open_draft(const std::filesystem::path& path, Console& console) {
    auto loaded = load_draft(path);
    if (!loaded) return loaded.failure();
    if (!loaded->warning.empty()) console.say(loaded->warning);
    return std::move(loaded->draft);
}

}  // namespace bentline::command
