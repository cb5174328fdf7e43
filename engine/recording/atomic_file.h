// Writing a file so that it is either wholly there or not at all.
//
// The bytes go to a temporary file in the target's own folder; commit() forces them to the disk and
// then renames the temporary file onto the target in one step. Until then a file of the target's
// name stays as it was; an object that is destroyed without commit() leaves nothing behind. Where
// the file system can do it, the temporary file has no name at all, so that even a killed program
// leaves none.
//
// A target that is a symbolic link keeps being one: the file that it points to is replaced. A
// target that exists keeps its permission bits. A target that is there but is no regular file (a
// terminal, a pipe) is written straight through, which cannot be atomic; regular() tells.
//
// Failures: cannot_write, with the path, the reason in words and what to do.
#pragma once

#include <cstddef>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>

#include "engine/result.h"

namespace bentline {

// [any], one thread at a time
class AtomicFile {
  public:
    // The target's folder must exist. Nothing is visible under the target's name before commit().
    static Result<AtomicFile> create(const std::filesystem::path& target);
    // Straight through a descriptor that is open already, such as standard output; `name` stands
    // for it in sentences. The descriptor stays the caller's. Fails with cannot_write where it is
    // not open.
    static Result<AtomicFile> through(int descriptor, const std::string& name);

    ~AtomicFile();  // without commit(): the temporary file is removed
    AtomicFile(AtomicFile&& other) noexcept;
    AtomicFile& operator=(AtomicFile&& other) noexcept;

    // Appends bytes.
    Result<Done> write(std::span<const std::byte> bytes);
    Result<Done> write(std::string_view text);

    // Forces everything to the disk and gives the temporary file a hidden name beside the target,
    // which is returned: what is left to do is a rename. For regular targets. engine/recording/
    // staging.h uses it to move several files at once.
    Result<std::filesystem::path> prepare();

    // prepare(), then puts it under the target's name. After it, successful or
    // not, the object only waits to be destroyed.
    Result<Done> commit();

    const std::filesystem::path& target() const { return target_; }
    // The target with links resolved: the file that is replaced.
    const std::filesystem::path& real_target() const { return real_; }
    // False where the target is a device or a pipe.
    bool regular() const { return regular_; }
    // The open descriptor, for a library that writes by itself. It stays owned by this object.
    int descriptor() const { return descriptor_; }

  private:
    AtomicFile() = default;
    Result<Done> open_temporary();
    void discard() noexcept;

    std::filesystem::path target_;     // as the caller named it, for sentences
    std::filesystem::path real_;       // with links resolved
    std::filesystem::path temporary_;  // empty while the temporary file has no name
    int descriptor_ = -1;
    bool regular_ = true;
};

// Writes a whole file at once. Same promises and failures as AtomicFile.
Result<Done> write_file(const std::filesystem::path& target, std::string_view bytes);

// Fails with cannot_write where both names lead to one file: what a result is made of is not
// written over by it.
Result<Done> check_apart(const std::filesystem::path& target, const std::filesystem::path& source);

// The sentence for a failed write: "cannot write PATH: the disk is full; …". `error` is an errno.
Failure write_failure(const std::filesystem::path& target, int error);

}  // namespace bentline
