// Loading and saving of draft files, and finding their recordings again.
#include "engine/draft/draft_file.h"

#include <fstream>
#include <sstream>
#include <system_error>

#include "engine/draft/draft_json.h"
#include "engine/recording/atomic_file.h"
#include "engine/recording/recording.h"

namespace bentline {

namespace fs = std::filesystem;

namespace {

Failure failed(FailureKind kind, const fs::path& path, const std::string& what) {
    Failure failure{kind, path.string() + " " + what, {}};
    failure.place.path = path.string();
    return failure;
}

Result<std::string> read_whole(const fs::path& path) {
    std::error_code error;
    const auto status = fs::status(path, error);
    if (status.type() == fs::file_type::not_found) {
        return failed(FailureKind::not_found, path, "is not there: check its name and folder");
    }
    if (!fs::is_regular_file(status)) {
        return failed(FailureKind::unreadable, path, "is not a file: choose a draft file");
    }
    const auto size = fs::file_size(path, error);
    if (!error && size > largest_draft_bytes) {
        return failed(FailureKind::bad_draft, path,
                      "is far too large for a draft: choose a draft file");
    }
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    if (in && size > 0) text << in.rdbuf();
    if (!in || !text) {
        return failed(FailureKind::unreadable, path,
                      "cannot be read: check its permissions and its disk");
    }
    return std::move(text).str();
}

// Absolute, with links resolved as far as the path exists.
fs::path settled(const fs::path& path) {
    std::error_code error;
    const fs::path absolute = fs::absolute(path, error);
    const fs::path canonical = fs::weakly_canonical(absolute, error);
    return error ? absolute.lexically_normal() : canonical;
}

std::string relative_to_file(const std::string& recording, const fs::path& draft_file) {
    if (recording.empty()) return "";
    const fs::path target = settled(recording);
    const fs::path relative = target.lexically_relative(settled(draft_file).parent_path());
    return (relative.empty() ? target : relative).generic_string();
}

struct Search {
    RecordingFound found = RecordingFound::missing;
    fs::path at;
    std::string why;  // a sentence where it is not there
};

Search look_at(const fs::path& path, const std::optional<Fingerprint>& wanted) {
    const auto recording = Recording::open(path);
    if (!recording) return {RecordingFound::missing, path, recording.failure().sentence};
    if (!wanted) return {RecordingFound::unknown, path, ""};
    const auto mark = fingerprint(*recording);
    if (!mark) return {RecordingFound::missing, path, mark.failure().sentence};
    if (*mark == *wanted) return {RecordingFound::there, path, ""};
    return {RecordingFound::changed, path, ""};
}

// Where the draft says it is, else beside the draft file; the second only if it is surely the one.
Search search(const std::string& named, const std::optional<Fingerprint>& wanted,
              const fs::path& folder) {
    const fs::path there = (folder / fs::path(named)).lexically_normal();
    Search first = look_at(there, wanted);
    if (first.found == RecordingFound::there || !wanted) return first;
    const fs::path beside = folder / fs::path(named).filename();
    if (beside != there) {
        Search second = look_at(beside, wanted);
        if (second.found == RecordingFound::there) return second;
    }
    return first;
}

}  // namespace

Result<LoadedDraft> load_draft(const fs::path& path) {
    const auto text = read_whole(path);
    if (!text) return text.failure();
    auto draft = read_draft_text(*text, path.string());
    if (!draft) return draft.failure();
    LoadedDraft loaded{std::move(draft).value(), RecordingFound::unknown, "", fnv1a(*text)};
    RecordingRef& ref = loaded.draft.recording;
    if (ref.path.empty()) return loaded;
    const Search result = search(ref.path, ref.fingerprint, settled(path).parent_path());
    ref.path = result.at.string();
    loaded.found = result.found;
    if (result.found == RecordingFound::missing) {
        loaded.warning = "The draft's recording is missing (" + result.why +
                         "); the draft opens without sound: put it back, or choose where it is";
    } else if (result.found == RecordingFound::changed) {
        loaded.warning =
            "The recording " + ref.path +
            " is not the one that the draft was lifted from, or was altered since: check that the "
            "notes still lie on it, or choose the right one";
    }
    return loaded;
}

Result<std::uint64_t> save_draft(const Draft& draft, const fs::path& path) {
    if (auto ok = check_apart(path, draft.recording.path); !ok) return ok.failure();
    Draft filed = draft;
    filed.recording.path = relative_to_file(draft.recording.path, path);
    const std::string text = draft_text(filed);
    if (auto written = write_file(path, text); !written) return written.failure();
    return fnv1a(text);
}

Result<RecordingRef> refer_to(const fs::path& path) {
    const auto recording = Recording::open(path);
    if (!recording) return recording.failure();
    const auto mark = fingerprint(*recording);
    if (!mark) return mark.failure();
    return RecordingRef{settled(path).string(), *mark};
}

}  // namespace bentline
