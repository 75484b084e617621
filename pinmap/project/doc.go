package project
