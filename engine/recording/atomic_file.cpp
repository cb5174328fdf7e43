// Temporary file, fsync, rename, fsync of the folder.
#include "engine/recording/atomic_file.h"

#include <cerrno>
#include <cstdio>
#include <system_error>
#include <utility>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace bentline {

namespace fs = std::filesystem;

namespace {

constexpr mode_t default_mode = 0666;  // the user's umask takes its bits off
constexpr int most_tries = 1000;       // names tried for a temporary file before giving up

fs::path folder_of(const fs::path& file) {
    const fs::path parent = file.parent_path();
    return parent.empty() ? fs::path(".") : parent;
}

// Writes out what the disk may still hold back for the folder's entries. Some file systems do not
// support it for folders; the rename has happened by then, so that is no failure.
void sync_folder(const fs::path& folder) {
    const int fd = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0) return;
    ::fsync(fd);
    ::close(fd);
}

// A hidden name beside the target that no other try of this or another process uses.
fs::path temporary_name(const fs::path& target, int attempt) {
    std::string stem = target.filename().string();
    constexpr std::size_t longest_stem = 200;  // leaves room below the usual limit of 255 bytes
    if (stem.size() > longest_stem) stem.resize(longest_stem);
    return folder_of(target) / ("." + stem + "." + std::to_string(::getpid()) + "-" +
                                std::to_string(attempt) + ".part");
}

std::string reason_of(const fs::path& target, int error) {
    switch (error) {
        case ENOSPC:
        case EDQUOT:
            return "the disk is full; free some space or choose another folder";
        case EFBIG:
            return "the file would be larger than is allowed here; choose another folder";
        case ENOENT:
        case ENOTDIR:
            return "the folder " + folder_of(target).string() +
                   " is not there; create it or choose another";
        case EACCES:
        case EPERM:
            return "it may not be written; choose another folder or change its permissions";
        case EROFS:
            return "the disk is read-only; choose another folder";
        case EISDIR:
            return "it is a folder; give the name of a file";
        case ELOOP:
            return "its links lead in a circle; give the name of a file";
        case ENAMETOOLONG:
            return "its name is too long; choose a shorter one";
        case EPIPE:
            return "the reader of the pipe went away; run it again";
        default:
            return std::generic_category().message(error) + "; choose another place and try again";
    }
}

// The file that a chain of symbolic links ends at, whether it is there or not.
fs::path resolve_links(const fs::path& target) {
    fs::path at = target;
    constexpr int longest_chain = 40;  // the kernel's own limit
    for (int i = 0; i < longest_chain; ++i) {
        std::error_code error;
        if (!fs::is_symlink(at, error)) return at;
        const fs::path next = fs::read_symlink(at, error);
        if (error) return at;
        at = next.is_absolute() ? next : folder_of(at) / next;
    }
    return at;
}

}  // namespace

Failure write_failure(const fs::path& target, int error) {
    if (target.empty()) {
        return Failure{
            FailureKind::cannot_write, "cannot write a file without a name; give it one", {}};
    }
    return Failure{FailureKind::cannot_write,
                   "cannot write " + target.string() + ": " + reason_of(target, error),
                   Place{target.string(), {}, {}}};
}

Result<Done> check_apart(const fs::path& target, const fs::path& source) {
    std::error_code not_there;
    if (!fs::equivalent(target, source, not_there)) return Done{};
    return Failure{FailureKind::cannot_write,
                   "cannot write " + target.string() +
                       ": the result is made from this file; give it another name",
                   Place{target.string(), {}, {}}};
}

Result<AtomicFile> AtomicFile::create(const fs::path& target) {
    AtomicFile file;
    file.target_ = target;
    file.real_ = resolve_links(target);
    if (target.filename().empty() || target.filename() == "." || target.filename() == "..") {
        return write_failure(target, target.empty() ? ENOENT : EISDIR);
    }

    std::error_code ignored;
    if (fs::is_symlink(file.real_, ignored)) return write_failure(target, ELOOP);

    struct stat there {};
    // By its own name: what /dev/stdout leads to has none where it is a pipe.
    const bool exists = ::stat(target.c_str(), &there) == 0;
    if (exists && S_ISDIR(there.st_mode)) return write_failure(target, EISDIR);
    if (exists && !S_ISREG(there.st_mode)) {
        file.regular_ = false;
        file.descriptor_ = ::open(target.c_str(), O_WRONLY | O_CLOEXEC);
        if (file.descriptor_ < 0) return write_failure(target, errno);
        return file;
    }
    // A rename would succeed on a file that its owner protected; respect the protection.
    if (exists && ::access(file.real_.c_str(), W_OK) != 0) return write_failure(target, errno);

    Result<Done> opened = file.open_temporary();
    if (!opened) return opened.failure();
    if (exists) ::fchmod(file.descriptor_, there.st_mode & 07777);
    return file;
}

Result<AtomicFile> AtomicFile::through(int descriptor, const std::string& name) {
    AtomicFile file;
    file.target_ = file.real_ = name;
    file.regular_ = false;
    file.descriptor_ = ::fcntl(descriptor, F_DUPFD_CLOEXEC, 0);
    if (file.descriptor_ < 0) return write_failure(name, errno);
    return file;
}

Result<Done> AtomicFile::open_temporary() {
    descriptor_ = ::open(folder_of(real_).c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, default_mode);
    if (descriptor_ >= 0) return Done{};
    for (int attempt = 0; attempt < most_tries; ++attempt) {
        const fs::path name = temporary_name(real_, attempt);
        descriptor_ = ::open(name.c_str(), O_CREAT | O_EXCL | O_RDWR | O_CLOEXEC, default_mode);
        if (descriptor_ >= 0) {
            temporary_ = name;
            return Done{};
        }
        if (errno != EEXIST) return write_failure(target_, errno);
    }
    return write_failure(target_, EEXIST);
}

AtomicFile::~AtomicFile() {
    discard();
}

AtomicFile::AtomicFile(AtomicFile&& other) noexcept
    : target_(std::move(other.target_)),
      real_(std::move(other.real_)),
      temporary_(std::exchange(other.temporary_, {})),
      descriptor_(std::exchange(other.descriptor_, -1)),
      regular_(other.regular_) {}

AtomicFile& AtomicFile::operator=(AtomicFile&& other) noexcept {
    if (this != &other) {
        discard();
        target_ = std::move(other.target_);
        real_ = std::move(other.real_);
        temporary_ = std::exchange(other.temporary_, {});
        descriptor_ = std::exchange(other.descriptor_, -1);
        regular_ = other.regular_;
    }
    return *this;
}

void AtomicFile::discard() noexcept {
    if (descriptor_ >= 0) ::close(descriptor_);
    descriptor_ = -1;
    if (!temporary_.empty()) ::unlink(temporary_.c_str());
    temporary_.clear();
}

Result<Done> AtomicFile::write(std::span<const std::byte> bytes) {
    while (!bytes.empty()) {
        const ssize_t written = ::write(descriptor_, bytes.data(), bytes.size());
        if (written < 0) {
            if (errno == EINTR) continue;
            return write_failure(target_, errno);
        }
        bytes = bytes.subspan(static_cast<std::size_t>(written));
    }
    return Done{};
}

Result<Done> AtomicFile::write(std::string_view text) {
    return write(std::as_bytes(std::span(text.data(), text.size())));
}

Result<fs::path> AtomicFile::prepare() {
    assert(descriptor_ >= 0 && regular_);
    if (::fsync(descriptor_) != 0) return write_failure(target_, errno);
    if (temporary_.empty()) {
        // Give the nameless file a name, so that it can be renamed over an existing target.
        const std::string self = "/proc/self/fd/" + std::to_string(descriptor_);
        for (int attempt = 0;; ++attempt) {
            const fs::path name = temporary_name(real_, attempt);
            if (::linkat(AT_FDCWD, self.c_str(), AT_FDCWD, name.c_str(), AT_SYMLINK_FOLLOW) == 0) {
                temporary_ = name;
                break;
            }
            if (errno != EEXIST || attempt == most_tries) return write_failure(target_, errno);
        }
    }
    return temporary_;
}

Result<Done> AtomicFile::commit() {
    assert(descriptor_ >= 0);
    if (!regular_) {
        discard();
        return Done{};
    }
    if (auto named = prepare(); !named) return named.failure();
    if (::rename(temporary_.c_str(), real_.c_str()) != 0) return write_failure(target_, errno);
    temporary_.clear();
    sync_folder(folder_of(real_));
    discard();
    return Done{};
}

Result<Done> write_file(const fs::path& target, std::string_view bytes) {
    Result<AtomicFile> file = AtomicFile::create(target);
    if (!file) return file.failure();
    Result<Done> written = file->write(bytes);
    if (!written) return written;
    return file->commit();
}

}  // namespace bentline
