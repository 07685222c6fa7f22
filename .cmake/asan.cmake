# Address and undefined-behaviour sanitizers.
set(CMAKE_BUILD_TYPE "" CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O1 -g1" CACHE STRING "")
set(SETWELL_SANITIZE "address,undefined" CACHE STRING "")
