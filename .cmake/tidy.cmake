# clang-tidy reads the compile commands of this variant; nothing of it is run.
set(CMAKE_BUILD_TYPE "" CACHE STRING "")
set(CMAKE_CXX_COMPILER "clang++" CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O0" CACHE STRING "")
