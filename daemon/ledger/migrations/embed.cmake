# Writes the migrations into one header: `kMigrations`, in the order of their file names.
file(GLOB migrations CONFIGURE_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/migrations/*.sql)
list(SORT migrations)
set(texts "")
foreach(migration ${migrations})
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS ${migration})
  file(READ ${migration} text)
  string(APPEND texts "    R\"sql(${text})sql\",\n")
endforeach()
set(migrations_header "#pragma once

#include <array>
#include <string_view>

namespace setwell::ledger {

inline constexpr auto kMigrations = std::to_array<std::string_view>({
${texts}});

}  // namespace setwell::ledger
")
file(GENERATE OUTPUT ${CMAKE_CURRENT_BINARY_DIR}/generated/ledger_migrations.hpp CONTENT "${migrations_header}")
