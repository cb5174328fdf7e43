// One slow_file a speed.
#include "engine/listening/practice_clips.h"

#include <cmath>

#include "engine/listening/slow_file.h"
#include "engine/listening/stretcher.h"

namespace bentline {

Result<std::vector<std::filesystem::path>> write_clips(const Recording& recording,
                                                       FramesRange range,
                                                       const ClipSettings& settings,
                                                       const std::filesystem::path& folder,
                                                       const std::string& stem, const Work& work) {
    for (const double speed : settings.speeds) {
        if (auto ok = check_speed(speed, settings.retune); !ok) return ok.failure();
    }
    std::error_code error;
    const bool made_here = std::filesystem::create_directories(folder, error);
    if (error) {
        return Failure{FailureKind::cannot_write,
                       "cannot make the folder '" + folder.string() + "': " + error.message() +
                           "; choose another place for the clips",
                       {folder.string(), {}, {}}};
    }
    std::vector<std::filesystem::path> written;
    const auto count = static_cast<double>(settings.speeds.size());
    for (const double speed : settings.speeds) {
        const auto path =
            folder / (stem + "-" + std::to_string(std::lround(100.0 * speed)) + ".wav");
        const auto done = static_cast<double>(written.size());
        if (auto ok = slow_file(recording, range, speed, settings.retune, path,
                                work.part(done / count, (done + 1.0) / count));
            !ok) {
            // Only an empty folder goes.
            if (made_here) std::filesystem::remove(folder, error);
            return ok.failure();
        }
        written.push_back(path);
    }
    return written;
}

}  // namespace bentline
