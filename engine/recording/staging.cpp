// Keep, move, and on failure move back.
#include "engine/recording/staging.h"

#include <algorithm>
#include <cerrno>

#include <unistd.h>

namespace bentline {

namespace fs = std::filesystem;

namespace {

// A hidden name beside a file or folder that no other process uses.
fs::path hidden_name(const fs::path& beside, const char* purpose) {
    std::string stem = beside.filename().string();
    constexpr std::size_t longest_stem = 200;  // leaves room below the usual limit of 255 bytes
    if (stem.size() > longest_stem) stem.resize(longest_stem);
    return beside.parent_path() / ("." + stem + "." + std::to_string(::getpid()) + "." + purpose);
}

// "dir/" and "dir" name one folder.
fs::path plain_name_of(const fs::path& folder) {
    return folder.has_filename() ? folder : folder.parent_path();
}

// Keeps what stands under a name, as a second link where the disk has links.
Result<Done> keep(const fs::path& target, const fs::path& kept) {
    ::unlink(kept.c_str());
    if (::link(target.c_str(), kept.c_str()) == 0) return Done{};
    if (::rename(target.c_str(), kept.c_str()) == 0) return Done{};
    return write_failure(target, errno);
}

}  // namespace

Staging::~Staging() {
    std::error_code ignored;
    for (const StagedFolder& f : folders_)
        fs::remove_all(f.hidden, ignored);
}

Result<Done> Staging::add(const fs::path& target, std::string_view bytes) {
    auto file = AtomicFile::create(target);
    if (!file) return file.failure();
    if (!file->regular()) {
        through_.push_back({std::move(*file), std::string(bytes)});
        return Done{};
    }
    const bool twice = std::any_of(files_.begin(), files_.end(), [&](const AtomicFile& other) {
        return other.real_target().lexically_normal() == file->real_target().lexically_normal();
    });
    if (twice) {
        return Failure{
            FailureKind::cannot_write,
            "two results are to be written to " + target.string() + "; give each a name of its own",
            {target.string(), {}, {}}};
    }
    if (auto ok = file->write(bytes); !ok) return ok;
    files_.push_back(std::move(*file));
    return Done{};
}

Result<fs::path> Staging::add_folder(const fs::path& folder) {
    const fs::path target = plain_name_of(folder);
    std::error_code error;
    if (fs::exists(target, error) && !fs::is_directory(target, error)) {
        return Failure{FailureKind::cannot_write,
                       target.string() + " is a file; give the name of a folder",
                       {target.string(), {}, {}}};
    }
    // Inside the nearest folder that is there, so that the moves stay on one disk.
    fs::path near = target;
    if (!fs::is_directory(near, error)) {
        near = target.parent_path();
        while (!near.empty() && !fs::is_directory(near, error))
            near = near.parent_path();
    }
    const fs::path hidden =
        hidden_name((near.empty() ? fs::path(".") : near) / target.filename(), "part");
    fs::remove_all(hidden, error);
    if (!fs::create_directory(hidden, error)) {
        return write_failure(target, error.value() != 0 ? error.value() : EEXIST);
    }
    folders_.push_back({hidden, target});
    return hidden;
}

Result<Done> Staging::make_folder(const fs::path& folder) {
    std::error_code error;
    if (folder.empty() || fs::is_directory(folder, error)) return Done{};
    if (auto ok = make_folder(folder.parent_path()); !ok) return ok;
    if (!fs::create_directory(folder, error)) {
        return write_failure(folder, error.value() != 0 ? error.value() : EEXIST);
    }
    made_.push_back(folder);
    return Done{};
}

Result<std::vector<Staging::Move>> Staging::moves() {
    std::vector<Move> moves;
    for (AtomicFile& file : files_) {
        auto staged = file.prepare();
        if (!staged) return staged.failure();
        moves.push_back({*staged, file.real_target(), {}});
    }
    for (const StagedFolder& folder : folders_) {
        if (auto ok = make_folder(folder.target); !ok) return ok.failure();
        std::vector<fs::path> names;
        for (const auto& entry : fs::directory_iterator(folder.hidden))
            names.push_back(entry.path().filename());
        std::sort(names.begin(), names.end());
        for (const fs::path& name : names)
            moves.push_back({folder.hidden / name, folder.target / name, {}});
    }
    return moves;
}

void Staging::take_back(const std::vector<Move>& done) {
    for (auto move = done.rbegin(); move != done.rend(); ++move) {
        if (move->kept.empty()) {
            ::unlink(move->target.c_str());
        } else {
            // Where both names are links to one file, rename() leaves both: take the other away.
            ::rename(move->kept.c_str(), move->target.c_str());
            ::unlink(move->kept.c_str());
        }
    }
    std::error_code ignored;
    for (auto folder = made_.rbegin(); folder != made_.rend(); ++folder)
        fs::remove(*folder, ignored);
    made_.clear();
}

Result<Done> Staging::put_in_place() {
    for (Through& t : through_) {
        if (auto ok = t.file.write(t.bytes); !ok) return ok;
    }
    auto planned = moves();
    if (!planned) {
        take_back({});
        return planned.failure();
    }
    std::vector<Move> done;
    for (Move& move : *planned) {
        std::error_code error;
        if (fs::is_directory(move.target, error)) {
            take_back(done);
            return write_failure(move.target, EISDIR);
        }
        if (fs::exists(move.target, error)) {
            move.kept = hidden_name(move.target, "kept");
            if (auto ok = keep(move.target, move.kept); !ok) {
                take_back(done);
                return ok;
            }
        }
        const int renamed = ::rename(move.staged.c_str(), move.target.c_str());
        const int why = errno;
        if (renamed != 0) {
            if (!move.kept.empty()) done.push_back(move);
            take_back(done);
            return write_failure(move.target, why);
        }
        done.push_back(move);
    }
    for (const Move& move : done) {
        if (!move.kept.empty()) ::unlink(move.kept.c_str());
    }
    return Done{};
}

}  // namespace bentline
