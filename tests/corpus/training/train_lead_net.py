#!/usr/bin/env python3
"""Trains the lead network and writes its weights as a C++ table.

    train_lead_net.py --maps 'maps/*.bin' --minutes 5 --table lead_net_weights.h [--width 16]

The maps come from bentline_write_maps (README.md); files may grow while this runs. The network is the
one of engine/pitch/lead_net.cpp, layer for layer. Needs PyTorch; uses a graphics processor if there is
one.
"""

import argparse
import glob
import math
import os
import re
import time

import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

PLANES = 3
BINS = 270
LOWEST = 36  # the first pitch bin, counted in bins of the map
PITCHES = 180
RECORD = PLANES * BINS + 4
# Where partials 1/3, 1/2, 1, 2 … 8 (without 7) of a pitch lie, in bins.
SHIFTS = [-57, -36, 0, 36, 57, 72, 84, 93, 108]
NEIGHBOURS = [-57, -36, 36, 57]
POOL = 200  # frames to each side over which the lead's likeness is gathered
MAP_SHIFT_LIMIT = 24


class Maps:
    """Takes read so far, kept on the device as bytes."""

    def __init__(self, pattern, device):
        self.pattern = pattern
        self.device = device
        self.offset = {}
        self.takes = []

    def read_more(self):
        for path in sorted(glob.glob(self.pattern)):
            begin = self.offset.get(path, 0)
            size = (os.path.getsize(path) - begin) // RECORD * RECORD
            if size <= 0:
                continue
            raw = np.fromfile(path, dtype=np.uint8, count=size, offset=begin).reshape(-1, RECORD)
            truth = raw[:, PLANES * BINS :].copy().view(np.float32)[:, 0]
            ends = np.nonzero(truth == -2.0)[0]
            start = 0
            for end in ends:
                if end - start > 100:
                    x = torch.from_numpy(raw[start:end, : PLANES * BINS].copy())
                    y = torch.from_numpy(truth[start:end].copy())
                    self.takes.append((x.to(self.device), y.to(self.device)))
                start = end + 1
            self.offset[path] = begin + start * RECORD


def planes_of(raw):
    """[N, T, 810] bytes -> [N, 3, T, 270] as the engine has them."""
    x = raw.view(raw.shape[0], raw.shape[1], PLANES, BINS).permute(0, 2, 1, 3).float() / 255.0
    scale = torch.tensor([1.25, 3.0, 2.0], device=raw.device).view(1, 3, 1, 1)
    low = torch.tensor([0.0, -1.0, -1.0], device=raw.device).view(1, 3, 1, 1)
    return x * scale + low


def shifted(x, by, count, first=0):
    """Bins first + by … of the last axis, zeros outside."""
    begin = first + by
    end = begin + count
    left = max(0, -begin)
    right = max(0, end - x.shape[-1])
    return F.pad(x[..., max(0, begin) : min(x.shape[-1], end)], (left, right))


def box_sum(x):
    """Sum over POOL frames to each side; x: [N, C, T]."""
    total = F.pad(torch.cumsum(x.float(), dim=2), (1, 0))
    t = torch.arange(x.shape[2], device=x.device)
    high = torch.clamp(t + POOL + 1, max=x.shape[2])
    low = torch.clamp(t - POOL, min=0)
    return total[:, :, high] - total[:, :, low]


class LeadNet(nn.Module):
    def __init__(self, width=16, detail=6, likeness=8, context=24):
        super().__init__()
        self.width, self.detail, self.likeness, self.context = width, detail, likeness, context
        self.local = nn.Conv2d(PLANES, detail, (3, 3), padding=(1, 1))
        self.harmonic = nn.Conv2d(detail * len(SHIFTS) + 2, width, 1)
        self.across = nn.ModuleList(
            nn.Conv2d(width, width, (1, 5), padding=(0, 2), groups=width, bias=False)
            for _ in range(3)
        )
        self.octaves = nn.ParameterList(
            nn.Parameter(0.01 * torch.randn(width, len(NEIGHBOURS))) for _ in range(3)
        )
        self.dilation = [1, 3, 8]
        self.along = nn.ModuleList(
            nn.Conv2d(width, width, (3, 1), padding=(d, 0), dilation=(d, 1), groups=width, bias=False)
            for d in self.dilation
        )
        self.mix = nn.ModuleList(nn.Conv2d(width, width, 1) for _ in range(3))
        self.first = nn.Conv2d(width, 1, 1)
        self.frame1 = nn.Conv1d(2 * width + 1, context, 3, padding=1)
        self.frame2 = nn.Conv1d(context, context, 3, padding=4, dilation=4)
        self.frame3 = nn.Conv1d(context, context, 3, padding=12, dilation=12)
        self.first_silence = nn.Conv1d(context, 1, 1)
        self.like = nn.Conv2d(width, likeness, 1)
        self.second = nn.Conv2d(width + 2 * likeness, width, 1)
        self.second_frame = nn.Conv1d(likeness + context, width, 1, bias=False)
        self.last = nn.Conv2d(width, 1, 1)
        self.end1 = nn.Conv1d(context + likeness + 3, 16, 5, padding=2)
        self.end2 = nn.Conv1d(16, 1, 1)

    def forward(self, x):
        loudness = x[:, 0].mean(dim=2, keepdim=False).unsqueeze(1)  # [N, 1, T]
        h = F.relu(self.local(x))
        stack = [shifted(h, s, PITCHES, LOWEST) for s in SHIFTS]
        key = torch.linspace(-1.0, 1.0, PITCHES, device=x.device).view(1, 1, 1, -1)
        key = key.expand(x.shape[0], 1, x.shape[2], PITCHES)
        h = F.relu(self.harmonic(torch.cat(stack + [key, key * key], dim=1)))
        for i in range(3):
            a = self.across[i](h)
            for k, n in enumerate(NEIGHBOURS):
                a = a + shifted(h, n, PITCHES) * self.octaves[i][:, k].view(1, -1, 1, 1)
            a = self.along[i](a)
            h = h + F.relu(self.mix[i](a))
        s1 = self.first(h)[:, 0]  # [N, T, P]
        frame = torch.cat([h.amax(dim=3), h.mean(dim=3), loudness], dim=1)
        f = F.relu(self.frame1(frame))
        f = f + F.relu(self.frame2(f))
        f = f + F.relu(self.frame3(f))
        silence1 = self.first_silence(f)[:, 0]  # [N, T]
        first = torch.cat([s1, silence1.unsqueeze(2)], dim=2)
        p1 = torch.softmax(first.float(), dim=2)[:, :, :PITCHES]
        weight = (p1 * p1).unsqueeze(1)  # [N, 1, T, P]
        e = self.like(h)
        top = box_sum((weight * e).sum(dim=3))
        m = top / (box_sum(weight.sum(dim=3)) + 0.1)  # [N, L, T]
        frame2 = torch.cat([m, f], dim=1)
        both = torch.cat([h, e, e * m.unsqueeze(3)], dim=1)
        z = F.relu(self.second(both) + self.second_frame(frame2).unsqueeze(3))
        s2 = self.last(z)[:, 0] + s1
        sums = torch.stack(
            [0.1 * torch.logsumexp(s2.float(), dim=2), p1.amax(dim=2), 0.1 * silence1], dim=1
        )
        g = F.relu(self.end1(torch.cat([f, m, sums], dim=1)))
        silence2 = self.end2(g)[:, 0] + silence1
        return first, torch.cat([s2, silence2.unsqueeze(2)], dim=2)


def targets(y):
    """[N, T] pitch in map bins -> chances of the classes [N, T, 181] and which frames count."""
    at = y - LOWEST
    bins = torch.arange(PITCHES, device=y.device).float()
    bell = torch.exp(-0.5 * ((bins - at.unsqueeze(2)) / 0.6) ** 2)
    bell = bell / (bell.sum(dim=2, keepdim=True) + 1e-9)
    silent = (y == -1.0).float().unsqueeze(2)
    sounding = (y >= 0.0) & (at > -1.0) & (at < PITCHES)
    counts = (y == -1.0) | sounding
    return torch.cat([bell * sounding.float().unsqueeze(2), silent], dim=2), counts.float()


def loss_of(model, x, y):
    first, second = model(x)
    wanted, counts = targets(y)
    total = counts.sum() + 1.0
    out = 0.0
    for share, logits in ((0.3, first), (1.0, second)):
        ce = -(wanted * torch.log_softmax(logits.float(), dim=2)).sum(dim=2)
        out = out + share * (ce * counts).sum() / total
    return out


def batch_of(takes, chosen, length, augment):
    raw, truth = [], []
    for i in chosen:
        x, y = takes[i]
        if x.shape[0] > length:
            at = np.random.randint(0, x.shape[0] - length + 1)
            x, y = x[at : at + length], y[at : at + length]
        elif x.shape[0] < length:
            pad = length - x.shape[0]
            x = torch.cat([x, x[-1:].expand(pad, -1)])
            y = F.pad(y, (0, pad), value=-3.0)
        raw.append(x)
        truth.append(y)
    x = planes_of(torch.stack(raw))
    y = torch.stack(truth)
    if augment:
        n = x.shape[0]
        rand = lambda *s: torch.rand(*s, device=x.device)
        # Louder, softer; a mirrored or narrowed stage; a transposed world.
        x[:, 0] = (x[:, 0] + 0.12 * (rand(n, 1, 1) - 0.5)).clamp(0.0, 1.25)
        side = torch.where(rand(n, 1, 1) < 0.5, -1.0, 1.0) * torch.where(
            rand(n, 1, 1) < 0.2, torch.zeros_like(rand(n, 1, 1)), 0.5 + 0.5 * rand(n, 1, 1)
        )
        x[:, 2] = x[:, 2] * side
        by = int(np.random.randint(-MAP_SHIFT_LIMIT, MAP_SHIFT_LIMIT + 1) * np.random.rand())
        if by:
            x = shifted(x, -by, BINS)
            y = torch.where(y >= 0.0, y + by, y)
    return x, y


@torch.no_grad()
def examine(model, takes, device):
    """Share of sounding frames right, by pitch alone and with voicing, and false alarms."""
    right = sounding = heard = alarms = silent = 0
    loss = parts = 0.0
    for begin in range(0, len(takes), 24):
        x, y = batch_of(takes, range(begin, min(len(takes), begin + 24)), 448, False)
        loss += float(loss_of(model, x, y)) * x.shape[0]
        parts += x.shape[0]
        logits = model(x)[1].float()
        best = logits[..., :PITCHES].argmax(dim=2).float() + LOWEST
        voiced = torch.logsumexp(logits[..., :PITCHES], dim=2) > logits[..., PITCHES]
        true = y >= 0.0
        near = (best - y).abs() < 1.6
        right += int((true & near).sum())
        heard += int((true & voiced & near).sum())
        sounding += int(true.sum())
        rest = y == -1.0
        alarms += int((rest & voiced).sum())
        silent += int(rest.sum())
    return loss / parts, right / sounding, heard / sounding, alarms / silent


def parameter_rows(m):
    """The parameters in the order in which the engine reads them, with what they are."""
    rows = [
        ("local: [out][plane][frame][bin], then biases", [m.local.weight, m.local.bias]),
        ("harmonic: [out][partial, detail; key, key^2]", [m.harmonic.weight, m.harmonic.bias]),
    ]
    for i in range(3):
        rows.append(
            (
                f"block {i}: across, octaves, along, mix, biases",
                [m.across[i].weight, m.octaves[i], m.along[i].weight, m.mix[i].weight, m.mix[i].bias],
            )
        )
    rows += [
        ("first", [m.first.weight, m.first.bias]),
        ("frame 1", [m.frame1.weight, m.frame1.bias]),
        ("frame 2", [m.frame2.weight, m.frame2.bias]),
        ("frame 3", [m.frame3.weight, m.frame3.bias]),
        ("first silence", [m.first_silence.weight, m.first_silence.bias]),
        ("like", [m.like.weight, m.like.bias]),
        ("second", [m.second.weight, m.second.bias]),
        ("second, by frame", [m.second_frame.weight]),
        ("last", [m.last.weight, m.last.bias]),
        ("end 1", [m.end1.weight, m.end1.bias]),
        ("end 2", [m.end2.weight, m.end2.bias]),
    ]
    return rows


@torch.no_grad()
def read_table(model, path):
    """Takes up the weights of a table that was written before; its sizes must be the model's."""
    text = open(path, encoding="ascii").read()
    body = re.sub(r"//[^\n]*", "", text[text.rindex("{\n") + 1 : text.rindex("};")])
    values = torch.tensor([float(v.rstrip("F")) for v in re.split(r"[,\s]+", body) if v])
    at = 0
    for _, parameters in parameter_rows(model):
        for p in parameters:
            p.copy_(values[at : at + p.numel()].view_as(p))
            at += p.numel()
    if at != len(values):
        raise SystemExit(f"{path} holds {len(values)} weights, not {at}")


def table(model, path, name="trained_lead_net_parameters"):
    m = model
    rows = parameter_rows(m)
    count = sum(int(p.numel()) for _, ps in rows for p in ps)
    with open(path, "w", encoding="ascii") as out:
        out.write(
            "// Weights of the lead network, written by tests/corpus/training/train_lead_net.py.\n"
            "#pragma once\n\n#include <array>\n#include <cstddef>\n\nnamespace bentline {\n\n"
            f"inline constexpr std::size_t lead_net_width = {m.width};\n"
            f"inline constexpr std::size_t lead_net_detail = {m.detail};\n"
            f"inline constexpr std::size_t lead_net_likeness = {m.likeness};\n"
            f"inline constexpr std::size_t lead_net_context = {m.context};\n\n"
            "// clang-format off\n"
            f"inline constexpr std::array<float, {count}> {name} = {{\n"
        )
        for comment, ps in rows:
            out.write(f"// {comment}\n")
            values = torch.cat([p.detach().float().cpu().reshape(-1) for p in ps]).tolist()
            for i in range(0, len(values), 12):
                out.write(",".join(f"{v:.4g}F" if "." in f"{v:.4g}" or "e" in f"{v:.4g}" else f"{v:.4g}.0F" for v in values[i : i + 12]) + ",\n")
        out.write("};\n// clang-format on\n\n}  // namespace bentline\n")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--maps", required=True)
    parser.add_argument("--minutes", type=float, default=5.0)
    parser.add_argument("--table", required=True)
    parser.add_argument("--width", type=int, default=16)
    parser.add_argument("--detail", type=int, default=6)
    parser.add_argument("--batch", type=int, default=24)
    parser.add_argument("--rate", type=float, default=4e-3)
    parser.add_argument("--validation", default="", help="maps that are only looked at")
    parser.add_argument("--state", default="", help="where to keep the full state")
    parser.add_argument("--begin", default="", help="a state, or a table (.h), to begin from")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    torch.manual_seed(args.seed)
    np.random.seed(args.seed)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.backends.cudnn.allow_tf32 = True
    data = Maps(args.maps, device)
    data.read_more()
    checked = Maps(args.validation, device) if args.validation else None
    model = LeadNet(args.width, args.detail).to(device)
    if args.begin.endswith(".h"):
        read_table(model, args.begin)
    elif args.begin:
        model.load_state_dict(torch.load(args.begin, map_location=device))
    mean = {k: v.detach().clone() for k, v in model.state_dict().items()}
    optimiser = torch.optim.AdamW(model.parameters(), lr=args.rate, weight_decay=1e-4)
    print(f"{sum(p.numel() for p in model.parameters())} weights, {len(data.takes)} takes, {device}", flush=True)
    began = time.time()
    said = began
    steps = 0
    recent = 0.0
    while True:
        share = (time.time() - began) / (60.0 * args.minutes)
        if share >= 1.0:
            break
        for group in optimiser.param_groups:
            group["lr"] = args.rate * min(1.0, steps / 100.0 + 0.01) * 0.5 * (1.0 + math.cos(math.pi * share))
        x, y = batch_of(data.takes, np.random.randint(0, len(data.takes), args.batch), 400, True)
        loss = loss_of(model, x, y)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(model.parameters(), 1.0)
        optimiser.step()
        steps += 1
        recent = 0.98 * recent + 0.02 * float(loss) if steps > 1 else float(loss)
        keep = min(0.998, steps / (steps + 20.0))
        for k, v in model.state_dict().items():
            mean[k].mul_(keep).add_(v.detach(), alpha=1.0 - keep)
        if time.time() - said > 20.0:
            said = time.time()
            data.read_more()
            print(f"{said - began:.0f} s, {steps} steps, {len(data.takes)} takes, loss {recent:.4f}", flush=True)
    model.load_state_dict(mean)
    model.eval()
    if checked:
        checked.read_more()
        print("checked: loss %.4f, pitch %.4f, heard %.4f, false alarms %.4f" % examine(model, checked.takes, device), flush=True)
    table(model, args.table)
    if args.state:
        torch.save(model.state_dict(), args.state)


if __name__ == "__main__":
    main()
