// Writing and replaying the journal: one JSON object a line.
#include "engine/draft/journal.h"

#include <algorithm>
#include <cerrno>
#include <fstream>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <unistd.h>

#include "engine/draft/draft_json.h"
#include "engine/draft/json_fields.h"
#include "engine/recording/atomic_file.h"
#include "engine/recording/fingerprint.h"

namespace bentline {

namespace fs = std::filesystem;

namespace {

constexpr const char* format_name = "bentline journal";
constexpr int journal_version = 1;

std::string head_line(std::uint64_t mark) {
    const Json head = {
        {"format", format_name}, {"version", journal_version}, {"of", std::to_string(mark)}};
    return head.dump() + "\n";
}

// {"words": …, "gone": [ids], "put": [notes], "rest": {…}, "next_id": n}
std::string line_of(const Change& change) {
    Json gone = Json::array();
    Json put = Json::array();
    for (const Change::OfNote& n : change.notes) {
        if (n.before) gone.push_back(n.before->id.value);
        if (n.after) put.push_back(note_text(*n.after));
    }
    Json line;
    line["words"] = change.words;
    line["gone"] = std::move(gone);
    line["put"] = std::move(put);
    if (change.rest.after) line["rest"] = rest_text(*change.rest.after);
    line["next_id"] = change.next_after.value;
    return line.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n";
}

// The change that a line describes, seen from `draft`; nothing where it does not fit.
std::optional<Change> change_of(const std::string& line, const Draft& draft) {
    try {
        Fields f(Json::parse(line), "");
        Draft after = draft;
        if (const auto rest = f.text("rest")) {
            auto read = read_rest_text(*rest);
            if (!read) return std::nullopt;
            after = std::move(read).value();
        }
        after.next_id =
            NoteId{static_cast<std::uint32_t>(f.need(f.whole("next_id", 1, INT32_MAX), "next_id"))};
        std::vector<NoteList::Handle> row;
        const Json gone = f.need(f.array("gone"), "gone");
        for (const NoteList::Handle& n : draft.notes.handles()) {
            const bool goes = std::find(gone.begin(), gone.end(), Json(n->id.value)) != gone.end();
            if (!goes) row.push_back(n);
        }
        if (row.size() + gone.size() != draft.notes.size()) return std::nullopt;
        const Json put = f.need(f.array("put"), "put");
        for (const Json& n : put) {
            auto note = read_note_text(n.get<std::string>());
            if (!note || note->id >= after.next_id) return std::nullopt;
            row.push_back(std::make_shared<const DraftNote>(std::move(note).value()));
        }
        auto list = NoteList::make(std::move(row));
        if (!list) return std::nullopt;
        after.notes = std::move(list).value();
        return difference(draft, after, f.text("words").value_or(""));
    } catch (const Misfit&) {
        return std::nullopt;
    } catch (const Json::exception&) {
        return std::nullopt;
    }
}

bool is_head(const std::string& line, std::uint64_t mark) {
    return line + "\n" == head_line(mark);
}

// Appends bytes to a file, or says which errno stopped it; a half-written line is taken back.
int append_bytes(const fs::path& path, const std::string& bytes) {
    const int fd = ::open(path.c_str(), O_WRONLY | O_CLOEXEC | O_APPEND);
    if (fd < 0) return errno;
    const off_t before = ::lseek(fd, 0, SEEK_END);
    std::size_t done = 0;
    int error = 0;
    while (done < bytes.size() && error == 0) {
        const ssize_t n = ::write(fd, bytes.data() + done, bytes.size() - done);
        if (n > 0) {
            done += static_cast<std::size_t>(n);
        } else if (n == 0 || errno != EINTR) {
            error = n == 0 ? ENOSPC : errno;
        }
    }
    if (error != 0 && ::ftruncate(fd, before) != 0) error = errno;
    ::close(fd);
    return error;
}

}  // namespace

fs::path journal_path(const fs::path& draft_file) {
    return draft_file.parent_path() / ("." + draft_file.filename().string() + ".journal");
}

Journal::Journal(const fs::path& draft_file, std::uint64_t mark,
                 const std::vector<Change>& recovered)
    : file_(journal_path(draft_file)), mark_(mark) {
    for (const Change& change : recovered)
        unwritten_.push_back(line_of(change));
}

Result<Done> Journal::append(const Change& change) {
    unwritten_.push_back(line_of(change));
    std::string bytes;
    for (const std::string& line : unwritten_)
        bytes += line;
    if (!begun_) {
        // What an older journal holds is replaced only by what takes its place.
        if (auto written = write_file(file_, head_line(mark_) + bytes); !written) return written;
    } else if (const int error = append_bytes(file_, bytes)) {
        return write_failure(file_, error);
    }
    begun_ = true;
    unwritten_.clear();
    return Done{};
}

void Journal::saved(std::uint64_t mark) {
    remove();
    mark_ = mark;
}

void Journal::remove() {
    std::error_code ignored;
    fs::remove(file_, ignored);
    begun_ = false;
    unwritten_.clear();
}

Change reversed(const Change& change) {
    Change back = change;
    for (Change::OfNote& n : back.notes)
        std::swap(n.before, n.after);
    std::swap(back.rest.before, back.rest.after);
    std::swap(back.next_before, back.next_after);
    back.words = "undone: " + change.words;
    return back;
}

Recovered recover(const fs::path& draft_file, const Draft& draft, std::uint64_t mark) {
    Recovered result{draft, {}, false};
    std::ifstream in(journal_path(draft_file), std::ios::binary);
    std::string line;
    if (!in || !std::getline(in, line) || !is_head(line, mark)) return result;
    while (std::getline(in, line)) {
        const bool whole = !in.eof();  // a line without its end was cut off
        auto change = whole ? change_of(line, result.draft) : std::nullopt;
        auto after = change ? forward(result.draft, *change) : Result<Draft>(Failure{});
        if (!after) {
            result.cut_off = true;
            break;
        }
        result.draft = std::move(after).value();
        result.changes.push_back(std::move(*change));
    }
    return result;
}

}  // namespace bentline
