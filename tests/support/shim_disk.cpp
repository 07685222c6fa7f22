#include "tests/support/shim_disk.hpp"

#include <algorithm>
#include <cstring>
#include <fstream>
#include <iterator>
#include <new>
#include <stdexcept>

namespace setwell::test_support {

namespace {

/// What SQLite holds of an open file: its table of functions, ours behind it, and the real file behind that.
struct ShimFile {
  sqlite3_file base;
  ShimDisk* shim;
  ShimDisk::Disk* disk;  ///< null for files that no power cut is asked about (temporary ones)
  sqlite3_file* real;
};

ShimFile* shim_of(sqlite3_file* file) {
  return reinterpret_cast<ShimFile*>(file);
}

int close_file(sqlite3_file* file) {
  auto* shim = shim_of(file);
  return shim->real->pMethods != nullptr ? shim->real->pMethods->xClose(shim->real) : SQLITE_OK;
}

int read(sqlite3_file* file, void* to, int bytes, sqlite3_int64 offset) {
  auto* shim = shim_of(file);
  if (const int code = shim->shim->meets_fault(); code != SQLITE_OK)
    return code == SQLITE_FULL ? SQLITE_IOERR_READ : code;
  return shim->real->pMethods->xRead(shim->real, to, bytes, offset);
}

int write(sqlite3_file* file, const void* from, int bytes, sqlite3_int64 offset) {
  auto* shim = shim_of(file);
  if (const int code = shim->shim->meets_fault(); code != SQLITE_OK) return code;
  if (shim->disk != nullptr) {
    shim->disk->unflushed.push_back(
        {ShimDisk::Change::Kind::write, offset,
         std::string(static_cast<const char*>(from), static_cast<std::size_t>(bytes))});
  }
  return shim->real->pMethods->xWrite(shim->real, from, bytes, offset);
}

int truncate(sqlite3_file* file, sqlite3_int64 size) {
  auto* shim = shim_of(file);
  if (const int code = shim->shim->meets_fault(); code != SQLITE_OK) return code;
  if (shim->disk != nullptr) shim->disk->unflushed.push_back({ShimDisk::Change::Kind::truncate, size, {}});
  return shim->real->pMethods->xTruncate(shim->real, size);
}

void apply(std::string& bytes, const ShimDisk::Change& change) {
  const auto offset = static_cast<std::size_t>(change.offset);
  if (change.kind == ShimDisk::Change::Kind::truncate) {
    bytes.resize(offset);
    return;
  }
  bytes.resize(std::max(bytes.size(), offset + change.bytes.size()));
  bytes.replace(offset, change.bytes.size(), change.bytes);
}

int sync(sqlite3_file* file, int flags) {
  auto* shim = shim_of(file);
  if (const int code = shim->shim->meets_fault(); code != SQLITE_OK)
    return code == SQLITE_FULL ? SQLITE_IOERR_FSYNC : code;
  if (shim->disk != nullptr) {
    for (const auto& change : shim->disk->unflushed)
      apply(shim->disk->flushed, change);
    shim->disk->unflushed.clear();
  }
  return shim->real->pMethods->xSync(shim->real, flags);
}

int file_size(sqlite3_file* file, sqlite3_int64* size) {
  return shim_of(file)->real->pMethods->xFileSize(shim_of(file)->real, size);
}
int lock(sqlite3_file* file, int level) {
  return shim_of(file)->real->pMethods->xLock(shim_of(file)->real, level);
}
int unlock(sqlite3_file* file, int level) {
  return shim_of(file)->real->pMethods->xUnlock(shim_of(file)->real, level);
}
int reserved(sqlite3_file* file, int* held) {
  return shim_of(file)->real->pMethods->xCheckReservedLock(shim_of(file)->real, held);
}
int control(sqlite3_file* file, int what, void* argument) {
  return shim_of(file)->real->pMethods->xFileControl(shim_of(file)->real, what, argument);
}
int sector(sqlite3_file* file) {
  return shim_of(file)->real->pMethods->xSectorSize(shim_of(file)->real);
}
int traits(sqlite3_file* file) {
  return shim_of(file)->real->pMethods->xDeviceCharacteristics(shim_of(file)->real);
}
// The shared memory of the write-ahead log is no file of the disk: a power cut leaves nothing of it.
int map_shared(sqlite3_file* file, int region, int size, int extend, void volatile** at) {
  return shim_of(file)->real->pMethods->xShmMap(shim_of(file)->real, region, size, extend, at);
}
int lock_shared(sqlite3_file* file, int offset, int count, int flags) {
  return shim_of(file)->real->pMethods->xShmLock(shim_of(file)->real, offset, count, flags);
}
void barrier_shared(sqlite3_file* file) {
  shim_of(file)->real->pMethods->xShmBarrier(shim_of(file)->real);
}
int unmap_shared(sqlite3_file* file, int remove) {
  return shim_of(file)->real->pMethods->xShmUnmap(shim_of(file)->real, remove);
}

const sqlite3_io_methods kMethods{2,         close_file, read,        write,          truncate,     sync,
                                  file_size, lock,       unlock,      reserved,       control,      sector,
                                  traits,    map_shared, lock_shared, barrier_shared, unmap_shared, nullptr,
                                  nullptr};

ShimDisk* disk_behind(sqlite3_vfs* vfs) {
  return static_cast<ShimDisk*>(vfs->pAppData);
}

std::string bytes_of(const std::string& path) {
  std::ifstream stream(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), {}};
}

int open_file(sqlite3_vfs* vfs, const char* name, sqlite3_file* file, int flags, int* flags_out) {
  auto* shim = disk_behind(vfs);
  auto* opened = shim_of(file);
  opened->base.pMethods = nullptr;
  if (shim->meets_fault() != SQLITE_OK) return SQLITE_CANTOPEN;
  opened->shim = shim;
  opened->real = reinterpret_cast<sqlite3_file*>(opened + 1);
  opened->disk = nullptr;
  const int code = shim->below()->xOpen(shim->below(), name, opened->real, flags, flags_out);
  if (code != SQLITE_OK) return code;
  if (name != nullptr) {
    opened->disk = shim->disk_of(name);
    // What lay there before the shim came is taken as flushed long ago.
    if (opened->disk->flushed.empty() && opened->disk->unflushed.empty())
      opened->disk->flushed = bytes_of(name);
  }
  opened->base.pMethods = &kMethods;
  return SQLITE_OK;
}

int delete_file(sqlite3_vfs* vfs, const char* name, int flush_folder) {
  auto* shim = disk_behind(vfs);
  if (shim->meets_fault() != SQLITE_OK) return SQLITE_IOERR_DELETE;
  shim->forget(name);
  return shim->below()->xDelete(shim->below(), name, flush_folder);
}

// The rest of the table asks the one below, which must be told its own self.
int access_file(sqlite3_vfs* vfs, const char* name, int flags, int* answer) {
  auto* below = disk_behind(vfs)->below();
  return below->xAccess(below, name, flags, answer);
}
int full_name(sqlite3_vfs* vfs, const char* name, int size, char* to) {
  auto* below = disk_behind(vfs)->below();
  return below->xFullPathname(below, name, size, to);
}
int random_bytes(sqlite3_vfs* vfs, int size, char* to) {
  auto* below = disk_behind(vfs)->below();
  return below->xRandomness(below, size, to);
}
int wait_for(sqlite3_vfs* vfs, int micros) {
  auto* below = disk_behind(vfs)->below();
  return below->xSleep(below, micros);
}
int time_64(sqlite3_vfs* vfs, sqlite3_int64* to) {
  auto* below = disk_behind(vfs)->below();
  return below->xCurrentTimeInt64(below, to);
}
int last_error(sqlite3_vfs* vfs, int size, char* to) {
  auto* below = disk_behind(vfs)->below();
  return below->xGetLastError(below, size, to);
}

}  // namespace

ShimDisk::ShimDisk() : below_(sqlite3_vfs_find(nullptr)), shim_(std::make_unique<sqlite3_vfs>(*below_)) {
  shim_->zName = "shim-disk";
  shim_->pAppData = this;
  shim_->pNext = nullptr;
  shim_->szOsFile = static_cast<int>(sizeof(ShimFile)) + below_->szOsFile;
  shim_->xOpen = open_file;
  shim_->xDelete = delete_file;
  shim_->xAccess = access_file;
  shim_->xFullPathname = full_name;
  shim_->xRandomness = random_bytes;
  shim_->xSleep = wait_for;
  shim_->xCurrentTimeInt64 = time_64;
  shim_->xGetLastError = last_error;
  if (sqlite3_vfs_register(shim_.get(), 1) != SQLITE_OK) throw std::runtime_error("the shim is not taken");
}

ShimDisk::~ShimDisk() {
  sqlite3_vfs_unregister(shim_.get());
  sqlite3_vfs_register(below_, 1);
}

void ShimDisk::fail_at(std::int64_t nth, int code, std::int64_t more) {
  first_refused_ = calls_ + nth;
  last_refused_ = first_refused_ + more;
  code_ = code;
  refused_ = false;
}

void ShimDisk::heal() {
  last_refused_ = -1;
}

int ShimDisk::meets_fault() {
  ++calls_;
  if (before_call) before_call(calls_);
  if (calls_ < first_refused_ || calls_ > last_refused_) return SQLITE_OK;
  refused_ = true;
  return code_;
}

void ShimDisk::lose_power(const std::filesystem::path& folder, const Survives& survives) const {
  for (const auto& [path, disk] : disks_) {
    auto bytes = disk.flushed;
    for (const auto& change : disk.unflushed) {
      if (survives()) apply(bytes, change);
    }
    std::ofstream stream(folder / std::filesystem::path(path).filename(), std::ios::binary);
    stream.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  }
}

}  // namespace setwell::test_support
