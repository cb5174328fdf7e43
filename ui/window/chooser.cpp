// Reads folders and judges what is in them.
#include "ui/window/chooser.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <system_error>
#include <utility>

#include "engine/draft/draft_file.h"
#include "engine/ending.h"
#include "engine/recording/recording.h"

namespace bentline::window {
namespace {

namespace fs = std::filesystem;

std::string lower(std::string_view text) {
    std::string low(text);
    std::transform(low.begin(), low.end(), low.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    return low;
}

constexpr std::array recording_endings{".wav",  ".wave", ".rf64", ".aif",  ".aiff", ".aifc",
                                       ".flac", ".ogg",  ".oga",  ".opus", ".mp3"};

}  // namespace

std::string ending_of(Purpose purpose) {
    switch (purpose) {
        case Purpose::midi:
            return ".mid";
        case Purpose::csv:
            return ".csv";
        case Purpose::musicxml:
            return ".musicxml";
        case Purpose::sheet:
            return ".pdf";
        case Purpose::tab:
            return ".txt";
        case Purpose::lesson:
            return ".html";
        case Purpose::clips:
            return "";
        case Purpose::open:
        case Purpose::save:
            break;
    }
    return ".bentline";
}

fs::path demo_recording() {
    return fs::path(BENTLINE_DEMO_FOLDER) / "last_tram_to_oddervik.flac";
}

std::filesystem::path wanted_of(const std::vector<std::string>& dropped) {
    for (const EntryKind kind : {EntryKind::draft, EntryKind::recording}) {
        for (const std::string& one : dropped) {
            if (kind_of(one) == kind) return one;
        }
    }
    return dropped.front();
}

Preview look_at_file(const fs::path& file) {
    Preview preview{file, true, {}, {}};
    const auto say = [&](std::string line) { preview.lines.push_back(std::move(line)); };
    if (kind_of(file) == EntryKind::draft) {
        const Result<LoadedDraft> loaded = load_draft(file);
        if (!loaded) {
            say(loaded.failure().sentence);
            return preview;
        }
        const Draft& draft = loaded->draft;
        if (!draft.title.empty()) say(draft.title);
        say("from " + fs::path(draft.recording.path).filename().string());
        const auto inked = std::count_if(draft.notes.begin(), draft.notes.end(),
                                         [](const DraftNote& n) { return n.inked(); });
        say(std::to_string(inked) + " of " + std::to_string(draft.notes.size()) + " notes inked");
        if (draft.bars && !draft.notes.empty()) {
            const Seconds end = draft.notes[draft.notes.size() - 1].note.onset;
            say(std::to_string(draft.bars->position_at(end).bar) + " bars in " +
                to_text(draft.bars->metre()));
        }
        if (!loaded->warning.empty()) say(loaded->warning);
        return preview;
    }
    const Result<Recording> recording = Recording::open(file);
    if (!recording) {
        say(recording.failure().sentence);
        return preview;
    }
    const RecordingInfo& info = recording->info();
    const long seconds = std::lround(info.duration().value());
    const std::string two = std::to_string(seconds % 60);
    say(std::to_string(seconds / 60) + (two.size() < 2 ? ":0" : ":") + two + " long");
    say(info.format);
    say(std::to_string(info.rate.value()) + " Hz, " +
        (info.channels == 1 ? "mono" : std::to_string(info.channels) + " channels"));
    return preview;
}

EntryKind kind_of(const fs::path& name) {
    const std::string ending = small_ending(name);
    if (ending == ".bentline") return EntryKind::draft;
    const bool sound = std::find(recording_endings.begin(), recording_endings.end(), ending) !=
                       recording_endings.end();
    return sound ? EntryKind::recording : EntryKind::other;
}

Result<std::vector<Entry>> list_folder(const fs::path& folder) {
    std::error_code error;
    std::vector<Entry> entries;
    fs::directory_iterator it(folder, error);
    if (error) {
        const bool missing = error == std::errc::no_such_file_or_directory;
        return Failure{missing ? FailureKind::not_found : FailureKind::unreadable,
                       "could not look into " + folder.string() + ": " + error.message() +
                           "; choose another folder",
                       {folder.string(), {}, {}}};
    }
    for (; it != fs::directory_iterator(); it.increment(error)) {
        if (error) break;
        const std::string name = it->path().filename().string();
        if (name.empty() || name.front() == '.') continue;
        std::error_code ignored;
        const bool is_folder = it->is_directory(ignored);
        const std::uintmax_t bytes = is_folder ? 0 : it->file_size(ignored);
        entries.push_back({name, is_folder ? EntryKind::folder : kind_of(it->path()),
                           bytes == static_cast<std::uintmax_t>(-1) ? 0 : bytes});
    }
    std::sort(entries.begin(), entries.end(), [](const Entry& a, const Entry& b) {
        const bool fa = a.kind == EntryKind::folder, fb = b.kind == EntryKind::folder;
        if (fa != fb) return fa;
        const std::string la = lower(a.name), lb = lower(b.name);
        return la != lb ? la < lb : a.name < b.name;
    });
    return entries;
}

std::vector<std::size_t> matching(const Chooser& chooser, std::string_view typed) {
    const std::string wanted = lower(typed);
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < chooser.entries.size(); ++i) {
        const Entry& entry = chooser.entries[i];
        const bool serves =
            entry.kind == EntryKind::folder || entry.kind == EntryKind::draft ||
            (chooser.purpose == Purpose::open && entry.kind == EntryKind::recording);
        if (!serves) continue;
        const bool hands_out = chooser.purpose != Purpose::open && chooser.purpose != Purpose::save;
        if (hands_out && entry.kind == EntryKind::draft) continue;
        // While saving, the typed text is a new name, not a filter.
        const bool fits =
            chooser.purpose != Purpose::open || lower(entry.name).find(wanted) != std::string::npos;
        if (fits) found.push_back(i);
    }
    return found;
}

fs::path meant_file(const Chooser& chooser, std::string_view typed) {
    std::string text(typed);
    if (text.rfind("~/", 0) == 0) {
        // Read once at a key press on the window's own thread; nothing here sets it.
        if (const char* home = std::getenv("HOME")) text = home + text.substr(1);  // NOLINT
    }
    fs::path path(text);
    if (path.is_relative()) path = chooser.folder / path;
    if (chooser.purpose == Purpose::save && kind_of(path) != EntryKind::draft) path += ".bentline";
    const std::string ending = small_ending(path);
    const bool other_form = (chooser.purpose == Purpose::midi && ending == ".midi") ||
                            (chooser.purpose == Purpose::sheet && ending == ".svg");
    if (chooser.purpose != Purpose::open && chooser.purpose != Purpose::save && !other_form &&
        ending != ending_of(chooser.purpose)) {
        path += ending_of(chooser.purpose);
    }
    // A folder's name may have dots in it.
    if (chooser.purpose == Purpose::clips) path /= "";
    return path.lexically_normal();
}

}  // namespace bentline::window
