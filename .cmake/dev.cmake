# Everyday build: asserts on, light optimisation so that tests are quick.
set(CMAKE_BUILD_TYPE "" CACHE STRING "")
set(CMAKE_CXX_FLAGS "-O1 -g1" CACHE STRING "")
