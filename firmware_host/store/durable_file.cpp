// SPDX-License-Identifier: MIT
#include "firmware_host/store/durable_file.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>

#include "firmware_host/store/journal_database.hpp"

namespace benchward {

void fsync_folder(std::string const& folder) {
  int const descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (descriptor < 0) return;
  ::fsync(descriptor);
  ::close(descriptor);
}

void write_file_durably(std::string const& file, std::string_view text, unsigned mode) {
  auto const temporary = file + ".new";
  auto const fail = [&file](char const* what) {
    throw StoreError("journal.write", fmt::format("file {}: {}: {}", file, what, std::strerror(errno)));
  };
  ::unlink(temporary.c_str());
  int const descriptor = ::open(temporary.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
  if (descriptor < 0) fail("cannot be made");
  std::size_t done = 0;
  while (done < text.size()) {
    auto const wrote = ::write(descriptor, text.data() + done, text.size() - done);
    if (wrote < 0 && errno == EINTR) continue;
    if (wrote <= 0) {
      auto const error = errno;
      ::close(descriptor);
      ::unlink(temporary.c_str());
      errno = error;
      fail("cannot be written");
    }
    done += static_cast<std::size_t>(wrote);
  }
  bool const kept = ::fsync(descriptor) == 0;
  ::close(descriptor);
  if (!kept || ::rename(temporary.c_str(), file.c_str()) != 0) {
    auto const error = errno;
    ::unlink(temporary.c_str());
    errno = error;
    fail("cannot be kept");
  }
  auto const slash = file.rfind('/');
  fsync_folder(slash == std::string::npos ? "." : file.substr(0, slash));
}

std::string read_bytes(std::string const& file) {
  std::ifstream stream(file, std::ios::binary);
  std::string text((std::istreambuf_iterator<char>(stream)), std::istreambuf_iterator<char>());
  if (!stream)
    throw StoreError("journal.folder", fmt::format("file {}: cannot be read: {}", file, std::strerror(errno)));
  return text;
}

void make_records_folder(std::string const& folder) {
  // Each missing part in turn, so that "records/2030" works where "records" is missing too.
  for (std::size_t at = 1; at <= folder.size(); ++at) {
    if (at != folder.size() && folder[at] != '/') continue;
    auto const part = folder.substr(0, at);
    if (::mkdir(part.c_str(), 0750) != 0 && errno != EEXIST) {
      throw StoreError("journal.folder",
                       fmt::format("records folder {}: cannot be made: {}. Choose a folder that this user may write",
                                   folder, std::strerror(errno)));
    }
  }
  struct stat status {};
  if (::stat(folder.c_str(), &status) != 0 || !S_ISDIR(status.st_mode)) {
    throw StoreError("journal.folder", fmt::format("records folder {}: is no folder", folder));
  }
  if (::access(folder.c_str(), W_OK | X_OK) != 0) {
    throw StoreError("journal.folder",
                     fmt::format("records folder {}: cannot be written: {}. Choose a folder that this user may write",
                                 folder, std::strerror(errno)));
  }
}

}  // namespace benchward
