// Opens, identifies, and words what went wrong.
#include "engine/recording/open_file.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <cstdio>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace bentline {

namespace fs = std::filesystem;

namespace {

FileIdentity identity_of(const struct stat& s) {
    return {static_cast<std::uint64_t>(s.st_dev), static_cast<std::uint64_t>(s.st_ino),
            static_cast<std::int64_t>(s.st_size), static_cast<std::int64_t>(s.st_mtim.tv_sec),
            static_cast<std::int64_t>(s.st_mtim.tv_nsec)};
}

// A frame's time as a player reads it: "1:02.345".
std::string clock_time(Frames frame, SampleRate rate) {
    const std::int64_t ms = std::llround(to_seconds(frame, rate).value() * 1000.0);
    std::array<char, 48> text{};
    std::snprintf(text.data(), text.size(), "%lld:%02lld.%03lld",
                  static_cast<long long>(ms / 60000), static_cast<long long>(ms / 1000 % 60),
                  static_cast<long long>(ms % 1000));
    return text.data();
}

}  // namespace

Result<OpenFile> OpenFile::open(const fs::path& path) {
    OpenFile file;
    file.path_ = path;
    // Not blocking, so that a pipe that nobody writes to does not hang.
    file.descriptor_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat there {};
    if (file.descriptor_ < 0 || ::fstat(file.descriptor_, &there) != 0) {
        const int error = errno;
        if (error == ENOENT || error == ENOTDIR) {
            return file.failure(FailureKind::not_found,
                                "is not there; check the name and the folder");
        }
        if (error == EACCES || error == EPERM) {
            return file.failure(
                FailureKind::unreadable,
                "may not be read; change its permissions or copy it to your own folder");
        }
        return file.failure(FailureKind::unreadable,
                            "cannot be opened (" + std::generic_category().message(error) +
                                "); check its name and the disk that it is on");
    }
    if (S_ISDIR(there.st_mode)) {
        return file.failure(FailureKind::unreadable, "is a folder; name a sound file in it");
    }
    if (!S_ISREG(there.st_mode)) {
        return file.failure(FailureKind::unreadable,
                            "is not a regular file; save the sound to a file and open that");
    }
    if (there.st_size == 0) {
        return file.failure(FailureKind::empty, "is empty (0 bytes); copy or download it again");
    }
    file.identity_ = identity_of(there);
    return file;
}

OpenFile::~OpenFile() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

OpenFile::OpenFile(OpenFile&& other) noexcept
    : path_(std::move(other.path_)),
      identity_(other.identity_),
      descriptor_(std::exchange(other.descriptor_, -1)) {}

OpenFile& OpenFile::operator=(OpenFile&& other) noexcept {
    path_ = std::move(other.path_);
    identity_ = other.identity_;
    std::swap(descriptor_, other.descriptor_);
    return *this;
}

Result<Done> OpenFile::still_there() const {
    struct stat now {};
    if (::stat(path_.c_str(), &now) != 0) {
        return failure(
            FailureKind::gone,
            "was there when it was opened and is no longer; put it back and open it again");
    }
    if (!(identity_of(now) == identity_)) {
        return failure(FailureKind::gone,
                       "was changed or replaced while it was open; open it again");
    }
    return Done{};
}

void OpenFile::rewind() const {
    ::lseek(descriptor_, 0, SEEK_SET);
}

std::string OpenFile::bytes(std::int64_t at, std::size_t length) const {
    std::string read(length, '\0');
    std::size_t have = 0;
    while (have < length) {
        const ssize_t got = ::pread(descriptor_, read.data() + have, length - have,
                                    static_cast<off_t>(at + static_cast<std::int64_t>(have)));
        if (got < 0 && errno == EINTR) continue;
        if (got <= 0) break;
        have += static_cast<std::size_t>(got);
    }
    read.resize(have);
    return read;
}

Failure OpenFile::failure(FailureKind kind, const std::string& what) const {
    return Failure{kind, path_.string() + " " + what, Place{path_.string(), {}, {}}};
}

Failure OpenFile::failure_at(FailureKind kind, Frames frame, SampleRate rate,
                             const std::string& what) const {
    const char* advice = kind == FailureKind::truncated
                             ? "; copy or download it again, or convert the part that is there"
                             : "; copy it again or convert it anew";
    Failure made = failure(kind, what + " at " + clock_time(frame, rate) + " (frame " +
                                     std::to_string(frame.value()) + ")" + advice);
    made.place.frame = frame;
    return made;
}

}  // namespace bentline
